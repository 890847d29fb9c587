-- stopped
sequence{title='T',engine='E',document='D',invented=true}
note{id='n',say='s'}
local m={__eq=function(a,b) return a==b end} local a,b=setmetatable({},m),setmetatable({},m) pcall(function() return a==b end) m.__lt=function(a,b) return a<b end while true do pcall(function() return a<b end) end
