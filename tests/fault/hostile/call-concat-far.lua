-- stopped
sequence{title='T',engine='E',document='D',invented=true}
note{id='n',say='s'}
pcall(table.concat,{},('x'):rep(2^20),1,math.maxinteger) local t=setmetatable({},{__index=function() return 'x' end}) table.concat(t,'',1,math.maxinteger)
