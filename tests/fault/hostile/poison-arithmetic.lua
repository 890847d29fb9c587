-- rejected
sequence { title = "T", engine = "E", document = "invented", invented = true }
note { id = "n", say = "s" }
getmetatable(Nm(1)).__add = function() return Nm(999) end
