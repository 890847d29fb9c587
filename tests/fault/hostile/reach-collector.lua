-- rejected: unknown word `collectgarbage`
sequence { title = "T", engine = "E", document = "invented", invented = true }
note { id = "n", say = "s" }
collectgarbage("stop")
