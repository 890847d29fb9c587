-- harmless
sequence{title='T',engine='E',document='D',invented=true}
local b={} for i=1,960 do local s={} for k=1,math.min(64,i-1) do s[k]='c'..(i-k) end confirm{id='c'..i,say='s',after=s,buries={say='x',steps=s}} end
