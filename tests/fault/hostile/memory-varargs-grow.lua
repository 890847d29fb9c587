-- stopped
sequence{title='T',engine='E',document='D',invented=true}
note{id='n',say='s'}
local function f(...) return f(1,...) end f()
