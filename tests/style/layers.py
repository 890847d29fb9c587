#!/usr/bin/python3
"""Who may include whom, which library lives where, and what the pure rooms may not call."""
import re

import yard
from yard import Finding

# A room, and the rooms or single headers whose doors it may use besides its own.
ROOMS = {
    "base": (),
    "wall": ("base",),
    "trade": ("base",),
    "judge": ("base", "trade"),
    "record": ("base",),
    "device": ("base", "trade", "wall"),
    "sequence": ("base", "trade", "wall"),
    "session": ("base", "wall", "trade", "judge", "record", "device", "sequence"),
    "rehearsal": ("base", "trade", "device/wire.h"),
    "face": ("base", "trade", "judge", "record", "sequence", "session"),
    "command": ("base", "wall", "trade", "judge", "record", "device", "sequence", "session",
                "rehearsal", "face"),
}

# What hardware/sim may use, which is no part of boltwright.
SIMULATOR = ("base", "rehearsal")

# A library's headers, its name in CMake, and the rooms that may use it.
LIBRARIES = (
    (r"sqlite3\.h", "SQLITE", ("record",)),
    (r"openssl/.*", "CRYPTO", ("record",)),
    (r"libserialport\.h", "SERIALPORT", ("device",)),
    (r"lua.*\.h|lauxlib\.h", "LUA", ("sequence",)),
    (r"seccomp\.h|linux/(seccomp|landlock|filter|audit)\.h", "SECCOMP", ("wall",)),
    (r"qrencode\.h", "QRENCODE", ("face",)),
    (r"cairo(-pdf|-svg)?\.h|pango/.*|fontconfig/.*", "DRAW", ("face",)),
    (r"microhttpd\.h", "MICROHTTPD", ("face",)),
    (r"uv\.h", "UV", ("session", "command", "face")),
    (r"jansson\.h", "JANSSON", ("record", "sequence", "command", "face")),
    (r"boltwright/.*", None, ("device", "sequence")),  # a Lua driver is a driver
)

# The C library without input and output, clock and locale.
QUIET = set("ctype errno float inttypes limits math stdalign stdarg stdbool stddef stdint "
            "string".split())
# For snprintf, qsort and abs; what else is in them is caught by its name.
PURE = QUIET | {"stdio", "stdlib", "assert"}
LIBC = PURE | set("complex fenv iso646 locale setjmp signal stdatomic stdnoreturn time uchar wchar "
                  "wctype dirent dlfcn fcntl grp netdb poll pthread pwd sched spawn strings syslog "
                  "termios unistd".split())
LIBC_FOLDERS = ("sys/", "netinet/", "arpa/", "net/", "linux/", "asm/")

IMPURE_CALL = re.compile(r"(?<![\w.>])(" + "|".join(
    "time clock clock_gettime gettimeofday localtime gmtime mktime strftime "
    "malloc calloc realloc reallocarray aligned_alloc posix_memalign free strdup strndup "
    "printf fprintf vprintf vfprintf dprintf puts fputs putchar fputc putc perror fwrite fread "
    "scanf fscanf fgets fopen fdopen freopen fclose fflush open openat read write close "
    "localeconv setlocale newlocale uselocale getenv setenv system exit abort rand srand random "
    "bw_arena_new bw_clock_\\w+".split()) + r")\s*\(|(?<![\w.>])(stdout|stderr|stdin)\b")

# What the display and the sheet may not touch of the record: they read.
FACE_WRITE = re.compile(r"\b(bw_store_append|bw_store_checkpoint|BW_STORE_WRITE)\b")

INCLUDE = re.compile(r'^\s*#\s*include\s*([<"])([^">]+)[">]')


def is_pure(path):
    parts = path.parts
    return parts[0] == "src" and (parts[1] in ("trade", "judge") or (
        parts[1] == "session" and path.name.startswith("session")))


def includes(text):
    for line, content in yard.numbered(yard.code(text, strings=True)):
        match = INCLUDE.match(content)
        if match:
            yield line, match[1] == "<", match[2]


def libc_name(header):
    return header[:-2] if header.endswith(".h") else header


def library_of(header):
    return next((entry for entry in LIBRARIES if re.fullmatch(entry[0], header)), None)


def check_room_include(path, room, line, system, header):
    library = library_of(header)
    if library:
        if room not in library[2]:
            yield Finding(path, line, f"room {room} includes {header}",
                          f"only {', '.join(library[2])} may use it; ask that room by its header")
    elif system:
        allowed = PURE if is_pure(path) else LIBC
        folder = not is_pure(path) and header.startswith(LIBC_FOLDERS)
        if libc_name(header) not in allowed and not folder:
            yield Finding(path, line, f"<{header}> has no place in room {room}",
                          "the pure rooms: the C library without I/O; others: a line in LIBRARIES "
                          "of tests/style/layers.py")
    else:
        other = header.split("/")[0]
        if other not in ROOMS or "/" not in header:
            yield Finding(path, line, f'"{header}" names no room', f'"{room}/{header}" or the like')
        elif other != room and other not in ROOMS[room] and header not in ROOMS[room]:
            may = ", ".join(ROOMS[room]) or "no other room"
            yield Finding(path, line, f"room {room} includes {header}", f"it may include: {may}")


def check_plugin_include(path, line, system, header):
    if system and (libc_name(header) in QUIET or header.startswith("boltwright/")):
        return
    if not system and header.split("/")[0] not in ROOMS and ".." not in header:
        return  # its own folder's, or the public header
    yield Finding(path, line, f"a driver includes {header}",
                  f"<boltwright/driver.h>, its own headers and, of the C library, "
                  f"{' '.join(sorted(QUIET))}")


def check_calls(path, text, pattern, who, right):
    for line, content in yard.numbered(yard.code(text)):
        for match in pattern.finditer(content):
            name = next(group for group in match.groups() if group)
            yield Finding(path, line, f"{who} uses {name}", right)


def check_links(path, text, room):
    """CMake must not link more than the headers may include."""
    for line, content in yard.numbered(text):
        for other in re.findall(r"\bbw_(\w+)", content.split("#")[0]):
            if other in ROOMS and other != room and other not in {
                    door.split("/")[0] for door in ROOMS[room]}:
                yield Finding(path, line, f"room {room} links bw_{other}",
                              "no more than it may include: " + ", ".join(ROOMS[room]))
        for name in re.findall(r"PkgConfig::(\w+)", content):
            owners = [entry[2] for entry in LIBRARIES if entry[1] == name]
            if not any(room in owner for owner in owners):
                yield Finding(path, line, f"room {room} links {name}",
                              "only its own libraries: LIBRARIES of tests/style/layers.py")


def check_src(root):
    for path in yard.c_files(root, "src"):
        room = path.parts[1]
        if room not in ROOMS:
            yield Finding(path, 1, f"{room} is no room", f"one of {', '.join(ROOMS)}")
            continue
        text = yard.read(root, path)
        for include in includes(text):
            yield from check_room_include(path, room, *include)
        if is_pure(path):
            yield from check_calls(path, text, IMPURE_CALL, "the pure core",
                                   "time, memory and text come and go by argument")
        if room == "face":
            yield from check_calls(path, text, FACE_WRITE, "a face", "a face reads the record only")


def check(root):
    yield from check_src(root)
    for path in yard.files(root, ".txt", under=("src",)):
        if len(path.parts) > 2 and path.parts[1] in ROOMS:
            yield from check_links(path, yard.read(root, path), path.parts[1])
    for path in yard.c_files(root, "plugins"):
        text = yard.read(root, path)
        for include in includes(text):
            yield from check_plugin_include(path, *include)
        yield from check_calls(path, text, IMPURE_CALL, "a driver",
                               "what it needs comes by the host's structure")
    for path in yard.c_files(root, "hardware"):
        simulator = path.parts[1] == "sim"
        for line, system, header in includes(yard.read(root, path)):
            room = header.split("/")[0]
            if not system and room in ROOMS and not (simulator and room in SIMULATOR):
                yield Finding(path, line, f"{'the simulator' if simulator else 'the firmware'} "
                              f"includes {header}",
                              "base and rehearsal" if simulator
                              else "it shares the frame description only")


if __name__ == "__main__":
    yard.main(check)
