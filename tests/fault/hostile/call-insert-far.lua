-- stopped
sequence{title='T',engine='E',document='D',invented=true}
note{id='n',say='s'}
local t=setmetatable({},{__len=function() return math.maxinteger-1 end,__newindex=function() end}) table.insert(t,1,'x')
