-- rejected: stands for places 1 and 2
sequence{title='T',engine='E',document='D',invented=true}
group{name='g',say='s',lubricant='oil',places=labels{'a b','a b'}}
tighten{id='t',say='s',group='g',stages={torque{Nm(60),within=percent(5)}}}
