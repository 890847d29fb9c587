-- stopped
sequence { title = "T", engine = "E", document = "invented", invented = true }
note { id = "n", say = "s" }
local s = ("a"):rep(20000)
s:gsub(("a?"):rep(28) .. ("a"):rep(28) .. "$", "")
