-- stopped
sequence{title='T',engine='E',document='D',invented=true}
note{id='n',say='s'}
local s=('a'):rep(5e4) s:find('(.-)(.-)(.-)%1%2%3b')
