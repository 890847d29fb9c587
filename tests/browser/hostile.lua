-- The small job with texts that want to be more than text, in every field that reaches the page.
sequence {
  title = "<script>window.owned=1</script>",
  engine = "<img src=x onerror=window.owned=1>",
  edition = "1",
  document = "\"><svg onload=window.owned=1>",
  revision = "';window.owned=1;//",
  invented = true,
  torque_unit = "N.m",
}

group {
  name = "g",
  say = "javascript:window.owned=1",
  lubricant = "{{window.owned=1}}",
  washers = "&lt;b&gt;window.owned=1",
  places = labels { "</script><b>event: state", "<script>window.owned=1</script>" },
  order = "listed",
}

caution { id = "c", say = "<img src=x onerror=window.owned=1>", why = "\"><svg onload=window.owned=1>" }
note { id = "n", say = "';window.owned=1;//", after = "c" }
ask { id = "a", say = "javascript:window.owned=1", why = "{{window.owned=1}}", answers = { "&lt;b&gt;window.owned=1", "</script><b>event: state" }, after = "n" }
measure {
  id = "m",
  say = "<script>window.owned=1</script>",
  why = "<img src=x onerror=window.owned=1>",
  gauge = "\"><svg onload=window.owned=1>",
  after = "a",
  readings = {
    reading { id = "r", say = "';window.owned=1;//", unit = "mm", decimals = 2, at = { "javascript:window.owned=1", "{{window.owned=1}}" },
              plausible = { mm(0.05), mm(0.50) } },
  },
  derive = {
    value { id = "v", say = "&lt;b&gt;window.owned=1", formula = "pump_clearance", of = "r", unit = "mm", decimals = 2,
            low = mm(0.05), high = mm(0.10), when_high = "</script><b>event: state" },
  },
}
confirm { id = "b", say = "<script>window.owned=1</script>", why = "<img src=x onerror=window.owned=1>", buries = "\"><svg onload=window.owned=1>", after = "m" }
forbid { say = "';window.owned=1;//", why = "javascript:window.owned=1", from = "b", to = "e" }
tighten { id = "t", say = "{{window.owned=1}}", group = "g", after = "b", stages = { torque { Nm(20), within = percent(8) } } }
confirm { id = "e", say = "&lt;b&gt;window.owned=1", after = "t" }
