-- rejected: overflow
sequence { title = "T", engine = "E", document = "invented", invented = true }
note { id = "n", say = "s" }
local t = setmetatable({}, { __concat = function(a, b) return a .. b end })
local x = t .. t
