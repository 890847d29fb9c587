-- stopped: more than 64 MiB of memory
sequence { title = "T", engine = "E", document = "invented", invented = true }
note { id = "n", say = "s" }
local s = ("x"):rep(1 << 30)
