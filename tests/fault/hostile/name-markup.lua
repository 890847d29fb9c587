-- harmless
sequence{title='</script><img src=x onerror=alert(1)>',engine='%s%n%x',document='${HOME}`id`',invented=true}
note{id='n',say='s'}
