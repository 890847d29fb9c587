-- rejected
sequence { title = "T", engine = "E", document = "invented", invented = true }
note { id = "n", say = "s" }
note { id = "m", say = "s", [{}] = 1, [("x"):rep(300)] = 1, ["\0"] = 1 }
