-- rejected
sequence { title = "T", engine = "E", document = "invented", invented = true }
note { id = "n", say = "s" }
group { name = "g", say = "s", lubricant = "oil", places = labels { "a", "b" } }
tighten { id = "t", say = "s", group = "g", stages = { torque { 60, within = percent(5) } } }
