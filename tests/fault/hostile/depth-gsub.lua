-- rejected: overflow
sequence { title = "T", engine = "E", document = "invented", invented = true }
note { id = "n", say = "s" }
local f
f = function() return ("x"):gsub("x", f) end
f()
