-- stopped: without an end
sequence { title = "T", engine = "E", document = "invented", invented = true }
note { id = "n", say = "s" }
local s = ("a"):rep(300000)
s:find(".-b")
