-- stopped
sequence{title='T',engine='E',document='D',invented=true}
note{id='n',say='s'}
pcall(tonumber,('9'):rep(1e6)) pcall(tonumber,('z'):rep(1e6),36) pcall(tonumber,'0x'..('f'):rep(1e6)..'p9999999999') pcall(tonumber,'1e'..('9'):rep(1e5)) pcall(tonumber,'1',37) pcall(tonumber,'inf') for i=1,1e9 do tonumber(('9'):rep(1e5)) end
