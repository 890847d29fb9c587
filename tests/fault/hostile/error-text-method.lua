-- rejected
sequence { title = "T", engine = "E", document = "invented", invented = true }
note { id = "n", say = "s" }
error(setmetatable({}, { __tostring = function() while true do end end }))
