-- rejected: stands already
sequence { title = "T", engine = "E", document = "invented", invented = true }
note { id = "n", say = "s" }
local s = ("ab"):gsub(".", function() note { id = "g", say = "s" } end)
