-- rejected
sequence { title = "T", engine = "E", document = "invented", invented = true }
note { id = "n", say = "s" }
local t = {}
t.t = t
note { id = "m", say = t }
