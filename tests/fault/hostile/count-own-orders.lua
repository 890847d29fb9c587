-- rejected: 66048 pulls
sequence{title='T',engine='E',document='D',invented=true}
group{name='g',say='s',lubricant='oil',places=circle{n=512,diameter=mm(900)}}
for i=1,1000 do tighten{id='t'..i,say='s',group='g',after=i>1 and 't'..(i-1) or nil,order='crosswise',reversed=i%2==0,stages={torque{Nm(60),within=percent(5)}}} end
