-- stopped
sequence { title = "T", engine = "E", document = "invented", invented = true }
note { id = "n", say = "s" }
local function f() return 1 + f() end
f()
