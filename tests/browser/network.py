#!/usr/bin/python3
"""The bench display opened to the shop's network: https only, and nothing for who is not paired.

All on this machine: `--display-network` is given for a loopback address, which changes nothing in
what it does. What a code's time is over for is in tests/unit/face/pair_test.c, where time is an
argument.
"""
import hashlib
import json
import os
import re
import socket
import ssl
import stat
import subprocess
import sys

HERE = os.path.dirname(os.path.abspath(__file__))
sys.path[:0] = [HERE, os.path.join(HERE, "..", "fault")]
import attacks  # noqa: E402
import bench as benches  # noqa: E402
from bench import check  # noqa: E402

SMALL = attacks.SMALL
OWN = ("display-cert.pem", "display-key.pem")


def free_port():
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


class Open(attacks.Served):
    """A bench with its display open to the network; one screen of it, with its cookie."""

    def __init__(self, *options, address="127.0.0.1"):
        super().__init__(SMALL)
        self.options = options
        self.address = address
        self.cookie = None

    def __enter__(self):
        self.port = free_port()
        self.host = "%s:%d" % (self.address, self.port)
        self.start()
        return self

    def start(self):
        self.started = self.run("--display", self.host, "--display-network", *self.options)
        self.told(r"display is at https://")
        self.fingerprint = self.told(r"certificate.*: ((?:[0-9A-F]{2}:){31}[0-9A-F]{2})$")
        self.started.prompt()

    def told(self, pattern):
        """The first group of the line at the bench that fits."""
        line = ""
        while True:
            before, line = line, self.started.process.stderr.readline().decode().rstrip()
            check(line, "the program ended without saying %s: %s" % (pattern, before))
            found = re.search(pattern, line)
            if found:
                return found.group(found.lastindex or 0)

    def link(self, patience_s=5.0):
        context = ssl.create_default_context(cafile=os.path.join(self.home, OWN[0]))
        plain = socket.create_connection((self.address, self.port), timeout=patience_s)
        return context.wrap_socket(plain, server_hostname=self.address)

    def get(self, path, **headers):
        if self.cookie:
            headers["Cookie"] = self.cookie
        return self.ask(path=path, **headers)

    def post(self, path, body, **headers):
        if self.cookie:
            headers["Cookie"] = self.cookie
        own = {"Origin": "https://" + self.host, "Content_Type": "application/json",
               "Sec_Fetch_Site": "same-origin"}
        own.update(headers)
        return self.ask("POST", path, body=json.dumps(body).encode(), **own)

    def code(self, screen="answer"):
        check(self.post("/pair/ask", {"screen": screen}) == 200, "no code: %s" % self.body)
        words = {"answer": "may answer", "watch": "only looks on"}[screen]
        return self.told(r"code to pair a screen that %s: (\d{3} \d{3})" % words).replace(" ", "")

    def pair(self, screen="answer"):
        check(self.post("/pair/enter", {"code": self.code(screen)}) == 200, "not paired")
        found = re.search(rb"[Ss]et-[Cc]ookie: ([^\r]*)", self.head)
        self.cookie = found.group(1).decode().partition(";")[0]
        return found.group(1).decode()

    def stream(self, path):
        """Status and first event of a stream."""
        lines = ["GET %s HTTP/1.1" % path, "Host: " + self.host, "Cookie: " + (self.cookie or "")]
        with self.link() as link:
            link.sendall(("\r\n".join(lines) + "\r\n\r\n").encode())
            got = b""
            while b"\n\n" not in got.partition(b"data: ")[2]:
                some = link.recv(65536)
                got += some
                if not some or not got.startswith(b"HTTP/1.1 200"):
                    return int(got.split(b" ")[1]), {}
        data = next(line for line in got.split(b"\n") if line.startswith(b"data: "))
        return 200, json.loads(data[6:])


def others(code, n):
    """Codes that are not this one."""
    return ["%06d" % ((int(code) + 1 + i) % 1000000) for i in range(n)]


def https_only():
    """Plain HTTP gets nothing; TLS of today with the bench's own certificate, which stays."""
    with Open() as at:
        for data in (b"GET / HTTP/1.1\r\nHost: %s\r\n\r\n" % at.host.encode(), b"\x16\x03\x01",
                     b"\x00" * 4000):
            with socket.create_connection(("127.0.0.1", at.port), timeout=10) as link:
                got = b""
                try:
                    link.sendall(data)
                    link.shutdown(socket.SHUT_WR)
                    while some := link.recv(4096):
                        got += some
                except TimeoutError:
                    check(False, "plain HTTP is not hung up on")
                except OSError:
                    pass  # it may hang up at any moment
            check(b"HTTP" not in got and b"<" not in got, "plain HTTP got %r" % got)
        check(at.get("/") == 200, "nothing by https")
        with at.link() as link:
            der = link.getpeercert(binary_form=True)
            names = link.getpeercert()["subjectAltName"]
            check(link.version() in ("TLSv1.3", "TLSv1.2"), link.version())
        seen = hashlib.sha256(der).hexdigest().upper()
        check(at.fingerprint.replace(":", "") == seen, "the bench tells another fingerprint")
        check(("IP Address", "127.0.0.1") in names, names)
        for name in OWN:
            mode = stat.S_IMODE(os.stat(os.path.join(at.home, name)).st_mode)
            check(mode == 0o600, "%s has mode %o" % (name, mode))
        at.started.kill()
        at.start()
        check(at.fingerprint.replace(":", "") == seen, "the certificate did not stay")


def nothing_unpaired():
    """Without a token: the page to pair at and its files, and nothing of the build."""
    with Open() as at:
        for cookie in (None, "__Host-bench-%d=%s" % (at.port, "0" * 32), "__Host-bench-%d=" % at.port,
                       "x=%s" % ("0" * 32), "__Host-bench-%d=%s" % (at.port, "a" * 2000)):
            at.cookie = cookie
            for path in ("/", "/watch"):
                check(at.get(path) == 200 and b"/pair.js" in at.body, path)
                check(b"/main.js" not in at.body, "the display itself")
            for path in ("/pair.js", "/style.css", "/icon.svg"):
                check(at.get(path) == 200, path)
            for path in ("/index.html", "/main.js", "/events", "/watch/events", "/nothing",
                         "/..%2fkey", "/display-key.pem"):
                check(at.get(path) == 401, "%s: %s" % (path, at.head))
            for path, body in (("/answer", {"line": "yes", "nonce": "", "step": ""}),
                               ("/echo", {"text": "1"})):
                check(at.post(path, body) == 401, path)
        check(at.get("/", Host="evil.test") == 400 and at.ask(host="evil.test") == 421, "a name")
        check(at.post("/pair/ask", {"screen": "answer"}, Origin="https://evil.test") == 403, "origin")
        check(at.post("/pair/ask", {"screen": "answer"}, Origin="http://" + at.host) == 403, "http")
        check(at.post("/pair/ask", {"screen": "all"}) == 400, "a kind of screen")
        check(at.post("/pair/enter", {"code": 123456}) == 400, "a number")
        check(at.get("/pair/ask") == 405, "a code by GET")
        at.untouched()


def good_pairing():
    """Read off the bench, typed: the screen sees and answers. The code is good for one screen."""
    with Open() as at:
        check(at.post("/pair/enter", {"code": "123456"}) == 403, "a code that was never shown")
        code = at.code()
        check(at.post("/pair/enter", {"code": code}) == 200, "not paired: %s" % at.body)
        cookie = re.search(rb"[Ss]et-[Cc]ookie: ([^\r]*)", at.head).group(1).decode()
        for flag in ("; Secure", "; HttpOnly", "; SameSite=Strict", "; Path=/"):
            check(flag in cookie, cookie)
        check("Domain" not in cookie and cookie.startswith("__Host-"), cookie)
        check(re.search("=[0-9a-f]{32};", cookie), cookie)
        check(at.post("/pair/enter", {"code": code}) == 403, "a code twice")
        at.cookie = cookie.partition(";")[0]
        check(at.get("/") == 200 and b"/main.js" in at.body, "the page")
        check(at.get("/main.js") == 200 and b"et-cookie" not in at.head, "its files")
        status, state = at.stream("/events")
        check(status == 200 and "nonce" in state, "the stream")
        check(at.stream("/watch/events")[0] == 200, "to look on")
        answer = {"step": state["step"]["id"], "nonce": state["nonce"], "line": "yes"}
        token = at.cookie
        at.cookie = None
        check(at.post("/answer", answer) == 401, "an answer without the cookie")
        at.cookie = token
        check(at.post("/answer", answer, Origin="https://evil.test") == 403, "a foreign page")
        check(at.post("/answer", answer) == 200, "the answer: %s" % at.body)
        at.started.prompt()
        check("confirmed" in [e["kind"] for e in at.entries()], "it is not recorded")
        check(code not in json.dumps(at.entries()), "the code is in the record")


def looking_on():
    """A screen paired to look on can't answer, and is not told how."""
    with Open() as at:
        at.pair("watch")
        check(at.get("/watch") == 200 and b"/main.js" in at.body, "the page")
        check(at.get("/") == 200 and b"/pair.js" in at.body, "the page that answers")
        status, state = at.stream("/watch/events")
        check(status == 200 and "nonce" not in state, "who looks on is told the nonce")
        check(at.stream("/events")[0] == 401, "the stream of who answers")
        check(at.post("/answer", {"line": "yes", "nonce": "0" * 32, "step": ""}) == 401, "an answer")
        check(at.post("/echo", {"text": "1"}) == 401, "an echo")
        at.untouched()
        before = at.cookie
        at.pair("answer")
        check(at.stream("/events")[0] == 200, "paired anew")
        at.cookie = before
        check(at.get("/main.js") == 401, "the token before is still good")


def guessing():
    """Wrong codes: told so, and after the third no code is taken for a while, not the right one."""
    with Open() as at:
        code = at.code()
        first, second, third = others(code, 3)
        check(at.post("/pair/enter", {"code": first}) == 403, "a wrong code")
        for odd in ("", "12345", "1234567", "12345x", "１２３４５６", " " * 6):
            check(at.post("/pair/enter", {"code": odd}) == 400, "%r" % odd)
        check(at.post("/pair/enter", {"code": second}) == 403, "a second one")
        check(at.post("/pair/enter", {"code": third}) == 429, "a third one")
        at.told("wrong codes were typed")
        check(at.post("/pair/enter", {"code": code}) == 429, "the right one, too late")
        check(b"et-cookie" not in at.head, "a cookie all the same")
        check(at.post("/pair/ask", {"screen": "answer"}) == 429, "another code at once")


def stolen():
    """What another build's display gave, or this one's before, opens nothing."""
    with Open() as one, Open() as two:
        one.pair()
        value = one.cookie.partition("=")[2]
        two.cookie = "__Host-bench-%d=%s" % (two.port, value)
        check(two.get("/main.js") == 401 and two.stream("/events")[0] == 401, "a stolen cookie")
        two.cookie = one.cookie
        check(two.get("/main.js") == 401, "under its own name")
        check(one.get("/main.js") == 200, "the first one's own")
        one.started.kill()
        one.start()
        check(one.get("/main.js") == 401, "it outlives the program")


def given():
    """Another certificate; options that do not fit; addresses that nobody means."""
    with Open() as at:
        cert, key = (os.path.join(at.home, name) for name in OWN)
        with benches.Bench(SMALL) as other:
            def tried(*options, where="127.0.0.1:%d" % free_port()):
                done = subprocess.run(
                    [benches.PROGRAM, "run", SMALL, "--build", "x", "--home", other.home, "--display",
                     where, *options], capture_output=True, text=True, timeout=20,
                    stdin=subprocess.DEVNULL, check=False)
                check(not os.path.exists(os.path.join(other.home, "record.db")), "it wrote a record")
                return done.returncode, done.stderr
            net = "--display-network"
            for options, said in (
                    (("--display-cert", cert), "go with --display-network"),
                    ((net, "--display-cert", cert), "go together"),
                    ((net, "--display-cert", cert, "--display-key", "/nothing"), "can't be read"),
                    ((net, "--display-cert", cert, "--display-key", cert), "private key"),
                    ((net, "--display-cert", key, "--display-key", key), "no certificate")):
                code, error = tried(*options)
                check(code == 2 and said in error, "%s: %d %s" % (options, code, error))
            for where, said in (("0.0.0.0:8123", "every network"), ("[::]:8123", "every network"),
                                ("bench.test:8123", "in figures")):
                code, error = tried(net, where=where)
                check(code == 2 and said in error, "%s: %d %s" % (where, code, error))
            code, error = tried(where="192.0.2.1:8123")
            check(code == 2 and net in error, "no word of the option: %s" % error)
        with Open("--display-cert", cert, "--display-key", key) as two:
            check(two.fingerprint == at.fingerprint, "it shows another certificate")
            check(not os.path.exists(os.path.join(two.home, OWN[0])), "it made one of its own")


def half_open():
    """Who begins TLS and never ends it is cut off, and costs next to nothing until then."""
    with Open() as at:
        def busy_s():
            with open("/proc/%d/stat" % at.started.process.pid, encoding="ascii") as stat_file:
                fields = stat_file.read().rpartition(")")[2].split()
            return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")
        links = [socket.create_connection(("127.0.0.1", at.port), timeout=20) for _ in range(24)]
        for link in links:
            link.sendall(b"\x16\x03\x01\x02\x00")
        at.started.answer("yes")
        at.started.prompt()
        check(at.get("/") == 200, "the others are not served")
        before_s = busy_s()
        for link in links:
            try:
                while link.recv(4096):
                    pass
            except TimeoutError:
                check(False, "half a handshake is not hung up on")
            except OSError:
                pass
            link.close()
        check(busy_s() - before_s < 1, "half a handshake kept it busy for %.1f s"
              % (busy_s() - before_s))


if __name__ == "__main__":
    sys.exit(benches.main([https_only, nothing_unpaired, good_pairing, looking_on, guessing, stolen,
                           given, half_open]))
