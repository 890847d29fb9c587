-- harmless
sequence { title = "T", engine = "E", document = "invented", invented = true }
note { id = "n", say = "s" }
local t = { id = "m", say = "s" }
note(t)
t.id = nil
t.say = ("x"):rep(100000)
