-- rejected: __gc
sequence { title = "T", engine = "E", document = "invented", invented = true }
note { id = "n", say = "s" }
setmetatable({}, { __gc = function() while true do end end })
