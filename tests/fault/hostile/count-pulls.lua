-- rejected: 81920 pulls, one for each place and stage: at most 65536
sequence{title='T',engine='E',document='D',invented=true}
group{name='g',say='s',lubricant='oil',places=circle{n=512,diameter=mm(900)}}
local l={} for i=1,32 do l[i]=torque{Nm(60),within=percent(5),again=i>1 or nil} end
for i=1,1000 do tighten{id='t'..i,say='s',group='g',after=i>1 and 't'..(i-1) or nil,stages=l} end
