-- rejected: too many captures
sequence { title = "T", engine = "E", document = "invented", invented = true }
note { id = "n", say = "s" }
local x = ("x"):rep(1000):find(("("):rep(1000))
