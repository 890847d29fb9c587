-- rejected: unknown word `io`
sequence { title = "T", engine = "E", document = "invented", invented = true }
note { id = "n", say = "s" }
io.open("/etc/passwd"):read("a")
