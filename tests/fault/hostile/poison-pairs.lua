-- rejected: keeps its meaning
sequence { title = "T", engine = "E", document = "invented", invented = true }
note { id = "n", say = "s" }
pairs = function() end
