-- rejected
sequence { title = "T", engine = "E", document = "invented", invented = true }
note { id = "n", say = "s" }
group { name = "g", say = "s", lubricant = "oil", places = circle { n = -4, diameter = mm(100) } }
