-- harmless
sequence { title = "T", engine = "E", document = "invented", invented = true }
note { id = "n", say = "s" }
note { id = "m", say = "'); DROP TABLE entry; -- <script>alert(1)</script> $(reboot) %s%n" }
