-- stopped
sequence{title='T',engine='E',document='D',invented=true}
note{id='n',say='s'}
local t={} t.__index=t t.__newindex=t t.__call=t t.__concat=t t.__eq=t t.__len=t setmetatable(t,t) pcall(function() return t.x end) pcall(function() t.x=1 end) pcall(t) pcall(function() return #t end) pcall(function() return t..t end)
