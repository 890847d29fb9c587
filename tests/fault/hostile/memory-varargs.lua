-- stopped
sequence { title = "T", engine = "E", document = "invented", invented = true }
note { id = "n", say = "s" }
local t = {}
for i = 1, 200 do t[i] = ("x"):rep(1 << 16) .. i end
local function f(...) local k = { ... } return f(k, table.unpack(t)) end
f()
