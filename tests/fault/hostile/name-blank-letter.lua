-- rejected: that nobody would see
sequence{title='T',engine='E',document='D',invented=true}
note{id='n',say='ㅤ'}
