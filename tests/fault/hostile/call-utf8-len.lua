-- stopped
sequence{title='T',engine='E',document='D',invented=true}
note{id='n',say='s'}
pcall(utf8.char,-1) pcall(utf8.char,2^31) pcall(utf8.codepoint,('x'):rep(1e6),1,-1) pcall(utf8.offset,('\x80'):rep(1e6),1e6) pcall(utf8.len,('\xff'):rep(1e6)) for i=1,1e9 do pcall(utf8.len,('é'):rep(1e5)) end
