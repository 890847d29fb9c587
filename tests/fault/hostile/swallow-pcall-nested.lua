-- stopped
sequence { title = "T", engine = "E", document = "invented", invented = true }
note { id = "n", say = "s" }
local function f() return pcall(f) end
while true do pcall(f) end
