-- rejected: not a function
sequence{title='T',engine='E',document='D',invented=true}
note{id=note,say=torque,why=Nm,after=pairs}
