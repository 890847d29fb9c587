-- rejected: unknown word `xpcall`
sequence { title = "T", engine = "E", document = "invented", invented = true }
note { id = "n", say = "s" }
xpcall(function() while true do end end, function() while true do end end)
