-- rejected: may hold letters a to z
sequence{title='T',engine='E',document='D',invented=true}
note{id='bolt',say='s'}
note{id='bоlt',say='s'}
