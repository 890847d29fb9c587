-- stopped
sequence{title='T',engine='E',document='D',invented=true}
note{id='n',say='s'}
local t=setmetatable({},{__len=function() return 2^53 end}) pcall(table.remove,t,1)
