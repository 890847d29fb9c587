-- stopped
sequence{title='T',engine='E',document='D',invented=true}
note{id='n',say='s'}
local t={} for i=1,2e5 do t[i]=i*7%1e5 end table.sort(t,function(a,b) for i=1,50 do t[i]=nil end return (a or 0)<(b or 0) end)
