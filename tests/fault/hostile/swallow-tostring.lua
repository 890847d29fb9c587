-- stopped: more than a second
sequence { title = "T", engine = "E", document = "invented", invented = true }
note { id = "n", say = "s" }
pcall(error, setmetatable({}, { __tostring = function() return "x" end }), 0)
while true do end
