-- rejected: malformed number
sequence { title = "T", engine = "E", document = "invented", invented = true }
note { id = "n", say = "s" }
local x = 0x
