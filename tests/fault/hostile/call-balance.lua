-- stopped
sequence{title='T',engine='E',document='D',invented=true}
note{id='n',say='s'}
local s=('('):rep(2e5) for i=1,1e5 do s:find('%b()') end
