-- rejected
sequence { title = "T", engine = "E", document = "invented", invented = true }
note { id = "n", say = "s" }
note { id = "m", say = "torque \u{202E}06 mN" }
