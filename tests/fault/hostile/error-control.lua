-- rejected: \x1B[2J
sequence { title = "T", engine = "E", document = "invented", invented = true }
note { id = "n", say = "s" }
error("\27[2J\0hidden", 0)
