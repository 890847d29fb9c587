-- stopped
sequence { title = "T", engine = "E", document = "invented", invented = true }
note { id = "n", say = "s" }
local s = ("x"):rep(1 << 20):gsub(".", ("y"):rep(1 << 10))
