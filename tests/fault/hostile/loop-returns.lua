-- stopped
sequence{title='T',engine='E',document='D',invented=true}
note{id='n',say='s'}
local function f(n) if n==0 then return 1 end return f(n-1),f(n-1) end f(40)
