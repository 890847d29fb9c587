-- rejected: unknown word `dofile`
sequence { title = "T", engine = "E", document = "invented", invented = true }
note { id = "n", say = "s" }
dofile("/etc/passwd")
