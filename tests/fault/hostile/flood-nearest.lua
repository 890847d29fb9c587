-- rejected: did you mean `say`?
sequence{title='T',engine='E',document='D',invented=true}
for i=1,200 do note{id='x'..i,say='s',after='y'..i,sya='t',whi='u'} end
