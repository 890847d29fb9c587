-- rejected: is not a finite number
sequence{title='T',engine='E',document='D',invented=true}
local x=0/0
group{name='g',say='s',lubricant='oil',thread='M10x1.25',class='10.9',cycles=x,order='spiral',places=grid{rows=x,columns=x,dx=mm(x),dy=mm(x)}}
group{name='h',say='s',lubricant='oil',places=circle{n=x,diameter=mm(x)}}
group{name='i',say='s',lubricant='oil',order='spiral',places=places{{x=mm(x),y=mm(x)},{x=mm(0),y=mm(x)}}}
tighten{id='a',say='s',group='g',stages={torque{Nm(x),within=percent(x)},torque{Nm(50),low=Nm(x),high=Nm(x),least_turn=deg(x)},torque_angle{snug=Nm(x),deg(x),within=deg(x),floor=Nm(x),ceiling=Nm(x)},angle{deg(x),within=percent(x),from=Nm(x)},back_off{deg(x),within=deg(x)},yield{share=percent(x),snug=Nm(x),low=Nm(x),high=Nm(x),most_turn=deg(x)},stretch{mm(x),within=mm(x),about=Nm(x),ceiling=Nm(x)},slot{low=Nm(x),high=Nm(x),slots=x},check{low=Nm(x),high=Nm(x),most_turn=deg(x)},prevailing{low=Nm(x),high=Nm(x),least_turn=deg(x)},rotating{low=Nm(x),high=Nm(x),least_turn=deg(x)},creep{low=Nm(x),high=Nm(x),least_turn=deg(x)}}}
tighten{id='b',say='s',group='h',after='a',since='a',most=min(x),stages={torque{Nm(60),within=Nm(x)}}}
tighten{id='c',say='s',group='i',after='a',stages={torque{Nm(60),within=percent(5)}}}
wait{id='w',say='s',after='a',since='a',least=h(x)}
measure{id='m',say='s',temperature={degC(x),degC(x)},readings={reading{id='r',say='s',unit='mm',decimals=x,repeats=x,spread=mm(x),plausible={mm(x),mm(x)}}},derive={value{id='v',say='s',formula='mean',of='r',unit='mm',decimals=x,low=mm(x),high=mm(x)}}}
choose{id='ch',say='s',after='m',of={step='m',value='v'},within=mm(x),stock={mm(x)}}
note{id=x,say=x}
