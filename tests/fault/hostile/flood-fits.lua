-- rejected: declares more than fits into memory
sequence{title='T',engine='E',document='D',invented=true}
local l={} for i=1,512 do l[i]=''..i end for i=1,1000 do fit{id='f'..i,say='s',part='p',to=l} end
