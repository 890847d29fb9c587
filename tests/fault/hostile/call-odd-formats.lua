-- harmless
sequence{title='T',engine='E',document='D',invented=true}
note{id='n',say='s'}
for _,f in ipairs{'%','%n','%100d','%.100d','%q','%a','%i','%u','%c','%5$d','%-#+ 0d','%s%s','%*d'} do pcall(string.format,f) pcall(string.format,f,1) pcall(string.format,f,1/0) pcall(string.format,f,0/0) pcall(string.format,f,math.mininteger) pcall(string.format,f,'\0') pcall(string.format,f,{}) pcall(string.format,f,Nm(1)) end
