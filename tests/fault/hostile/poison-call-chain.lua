-- harmless
sequence{title='T',engine='E',document='D',invented=true}
note{id='n',say='s'}
local f=function() end for i=1,300 do f=setmetatable({},{__call=f}) end pcall(f)
