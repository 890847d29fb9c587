-- stopped: more than a second
sequence { title = "T", engine = "E", document = "invented", invented = true }
note { id = "n", say = "s" }
local t = setmetatable({}, { __index = function(t, k) while true do end end })
local x = t.y
