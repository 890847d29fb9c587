-- rejected: unknown word `debug`
sequence { title = "T", engine = "E", document = "invented", invented = true }
note { id = "n", say = "s" }
debug.sethook()
