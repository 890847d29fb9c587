-- rejected: takes one table in braces
sequence{title='T',engine='E',document='D',invented=true}
note{id='n',say='s'}
note() note(nil) note(1) note('x') note({},{}) note{} torque(5) torque() Nm() Nm('5') Nm(1,2) Nm({}) percent(Nm(1)) to() to(1) to(Nm(1),5) to(Nm(1),'') both() both(Nm(1)) both(1,2)
