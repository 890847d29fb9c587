-- rejected: begins with a letter or digit
sequence{title='T',engine='E',document='D',invented=true}
note{id='..',say='s'}
note{id='-',say='s'}
note{id='.',say='s'}
note{id='--help',say='s'}
