-- harmless
sequence{title='T',engine='E',document='D',invented=true}
local d={} for k=1,64 do d[k]=value{id='v'..k,say='s',formula='mean',of='r',unit='mm',decimals=2} end local l={} for i=1,256 do l[i]='p'..i end for i=1,200 do measure{id='m'..i,say='s',readings={reading{id='r',say='s',unit='mm',decimals=2,at=l,plausible={mm(0),mm(1)}}},derive=d} end
