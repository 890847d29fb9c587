-- rejected: unknown word `package`
sequence { title = "T", engine = "E", document = "invented", invented = true }
note { id = "n", say = "s" }
package.loadlib("libc.so.6", "system")
