-- rejected
sequence { title = "T", engine = "E", document = "invented", invented = true }
note { id = "n", say = "s" }
group { name = "g", say = "s", lubricant = "oil", places = grid { rows = 1e6, columns = 1e6, dx = mm(1), dy = mm(1) } }
