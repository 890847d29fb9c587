-- rejected: does something else when it is typed at the bench
sequence{title='T',engine='E',document='D',invented=true}
ask{id='q',say='s',answers={'back','pause','reject','help','?'}}
