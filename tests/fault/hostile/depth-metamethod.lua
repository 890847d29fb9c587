-- rejected: overflow
sequence { title = "T", engine = "E", document = "invented", invented = true }
note { id = "n", say = "s" }
local t = setmetatable({}, {})
getmetatable(t).__index = function(t, k) return t[k] end
local x = t.x
