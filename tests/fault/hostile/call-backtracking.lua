-- stopped: without an end
sequence { title = "T", engine = "E", document = "invented", invented = true }
note { id = "n", say = "s" }
local s = ("a"):rep(40)
s:find(("a*"):rep(20) .. "b")
