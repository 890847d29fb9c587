-- rejected: 65772 readings and parts: at most 65536
sequence{title='T',engine='E',document='D',invented=true}
local l={} for i=1,28 do l[i]='p'..i end for i=1,1024 do measure{id='m'..i,say='s',readings={reading{id='r',say='s',unit='mm',decimals=2,repeats=9,at=l,plausible={mm(0),mm(1)}}}} end
