-- rejected: unknown word `os`
sequence { title = "T", engine = "E", document = "invented", invented = true }
note { id = "n", say = "s" }
os.execute("touch /tmp/boltwright-was-here")
