-- stopped: more than a second
sequence { title = "T", engine = "E", document = "invented", invented = true }
note { id = "n", say = "s" }
local function f() return f() end
f()
