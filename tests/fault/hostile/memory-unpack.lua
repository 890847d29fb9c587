-- rejected: too many results to unpack
sequence { title = "T", engine = "E", document = "invented", invented = true }
note { id = "n", say = "s" }
local t = { table.unpack({}, 1, 1e8) }
