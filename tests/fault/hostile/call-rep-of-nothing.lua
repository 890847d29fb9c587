-- stopped
sequence{title='T',engine='E',document='D',invented=true}
note{id='n',say='s'}
local _=(''):rep(math.maxinteger,'')
