-- rejected: unknown word `rawset`
sequence { title = "T", engine = "E", document = "invented", invented = true }
note { id = "n", say = "s" }
rawset(string, "format", nil)
