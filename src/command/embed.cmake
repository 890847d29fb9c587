# cmake -DIN=FILE -DNAME=NAME -DOUT=FILE.c -P embed.cmake: a file as bytes in C, a NUL behind them.
file(READ ${IN} bytes HEX)
string(REGEX REPLACE "(..)" "0x\\1," bytes "${bytes}")
string(REGEX REPLACE "(0x..,0x..,0x..,0x..,0x..,0x..,0x..,0x..,)" "\\1\n" bytes "${bytes}")
file(WRITE ${OUT} "extern const unsigned char ${NAME}[];\nconst unsigned char ${NAME}[] = {\n${bytes}0};\n")
