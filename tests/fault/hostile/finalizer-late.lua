-- harmless
sequence { title = "T", engine = "E", document = "invented", invented = true }
note { id = "n", say = "s" }
local mt = {}
setmetatable({}, mt)
mt.__gc = function() while true do end end
