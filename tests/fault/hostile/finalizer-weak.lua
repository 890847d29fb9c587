-- rejected: __mode
sequence { title = "T", engine = "E", document = "invented", invented = true }
note { id = "n", say = "s" }
setmetatable({}, { __mode = "kv" })
