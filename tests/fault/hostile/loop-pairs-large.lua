-- stopped
sequence{title='T',engine='E',document='D',invented=true}
note{id='n',say='s'}
local t={} for i=1,3e5 do t['k'..i]=i end while true do for k in pairs(t) do end end
