-- rejected
sequence { title = "T", engine = "E", document = "invented", invented = true }
note { id = "n", say = "s" }
note()
note(1, 2)
note("x")
