# a script
LuaT

