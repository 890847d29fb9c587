-- stopped
sequence{title='T',engine='E',document='D',invented=true}
note{id='n',say='s'}
local s=('a'):rep(1e5) s:find('['..('b'):rep(1e5)..']')
