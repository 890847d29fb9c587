-- rejected: decimal escape too large
sequence { title = "T", engine = "E", document = "invented", invented = true }
note { id = "n", say = "s" }
local x = '\400'
