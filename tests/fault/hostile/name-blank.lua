-- rejected: `say` of note is empty
sequence{title='T',engine='E',document='D',invented=true}
note{id='n',say='⠀'}
