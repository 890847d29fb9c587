x = "\z
  "
note({ at = f(function() return { say = 1 } end), say == 2,
 say = 1; })
note { at = { 