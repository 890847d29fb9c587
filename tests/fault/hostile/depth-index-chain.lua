-- harmless
sequence{title='T',engine='E',document='D',invented=true}
note{id='n',say='s'}
local t={} for i=1,5000 do t=setmetatable({},{__index=t}) end pcall(function() return t.x end)
