-- rejected
sequence { title = "T", engine = "E", document = "invented", invented = true }
note { id = "n", say = "s" }
note { id = function() end, say = "s" }
