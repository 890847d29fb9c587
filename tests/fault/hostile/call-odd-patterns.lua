-- harmless
sequence{title='T',engine='E',document='D',invented=true}
note{id='n',say='s'}
for _,p in ipairs{'%','[','[^','[a','%b','%f','%b(','(','()',')','%1','%9','[]]','[%','*','^*','a-','%z','[%a-z]'} do pcall(string.find,'aaa',p) pcall(string.gsub,'aaa',p,'%1%2%') pcall(string.gmatch,'aaa',p) end
