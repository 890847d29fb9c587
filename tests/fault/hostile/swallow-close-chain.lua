-- rejected: stopped by error(), given the bare number 150
sequence{title='T',engine='E',document='D',invented=true}
note{id='n',say='s'}
local function f(n) local x <close> = setmetatable({},{__close=function() error(n) end}) if n>0 then f(n-1) end end pcall(f,150) f(150)
