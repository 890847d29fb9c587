-- rejected
sequence { title = "T", engine = "E", document = "invented", invented = true }
note { id = "n", say = "s" }
note { id = "m", say = "clear \27[2J the screen" }
