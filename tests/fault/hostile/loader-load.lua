-- rejected: unknown word `load`
sequence { title = "T", engine = "E", document = "invented", invented = true }
note { id = "n", say = "s" }
load("while true do end")()
