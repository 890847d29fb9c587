-- rejected
sequence { title = "T", engine = "E", document = "invented", invented = true }
note { id = "n", say = "s" }
_ENV = {}
note { id = "m", say = "s" }
