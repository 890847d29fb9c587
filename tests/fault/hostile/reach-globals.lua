-- rejected: unknown word `_G`
sequence { title = "T", engine = "E", document = "invented", invented = true }
note { id = "n", say = "s" }
for k in pairs(_G) do end
