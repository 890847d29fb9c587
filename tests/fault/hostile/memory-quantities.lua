-- stopped: memory
sequence{title='T',engine='E',document='D',invented=true}
note{id='n',say='s'}
local t={} for i=1,1e9 do t[i]=Nm(i) end
