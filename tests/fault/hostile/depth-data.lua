-- rejected
sequence { title = "T", engine = "E", document = "invented", invented = true }
note { id = "n", say = "s" }
local v = {}
for i = 1, 1000 do v = { v } end
note { id = "m", say = v }
