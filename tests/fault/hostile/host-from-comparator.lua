-- rejected: stands already
sequence { title = "T", engine = "E", document = "invented", invented = true }
note { id = "n", say = "s" }
table.sort({ 3, 2, 1 }, function(a, b) note { id = "c", say = "s" } return a < b end)
