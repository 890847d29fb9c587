note {
  id = "a", -- say
  say = [==[ x
 ]] ]==],
  at = { "a", {},
 [1] = 2, "b" },
}
