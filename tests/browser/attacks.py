#!/usr/bin/python3
"""What a page from elsewhere, a neighbour or a broken client may try on the bench display.

Raw sockets, so that nothing polite stands between. Each test says what must be refused, and looks
into the record that nothing came of it.
"""
import json
import os
import select
import socket
import subprocess
import sys
import time

sys.path.insert(0, os.path.join(os.path.dirname(os.path.abspath(__file__)), "..", "fault"))
import bench as benches  # noqa: E402
from bench import check  # noqa: E402

HERE = os.path.dirname(os.path.abspath(__file__))
SMALL = os.path.join(HERE, "small.lua")
FILES = ("/", "/watch", "/style.css", "/main.js")


class Served(benches.Bench):
    """A bench with its display."""

    def __enter__(self):
        with socket.socket() as probe:
            probe.bind(("127.0.0.1", 0))
            self.port = probe.getsockname()[1]
        self.started = self.run("--display", "127.0.0.1:%d" % self.port)
        self.started.process.stderr.readline()
        self.started.prompt()
        self.host = "127.0.0.1:%d" % self.port
        return self

    def __exit__(self, *more):
        self.started.kill()
        super().__exit__(*more)

    def link(self, patience_s=5.0):
        return socket.create_connection(("127.0.0.1", self.port), timeout=patience_s)

    def raw(self, data, patience_s=5.0, half=False):
        """Sends bytes, and reads until the other end closes or is silent for a while."""
        with self.link(patience_s) as link:
            try:
                link.sendall(data)
                if half:
                    link.shutdown(socket.SHUT_WR)
            except (BrokenPipeError, ConnectionResetError):
                return b""
            got = b""
            while select.select([link], [], [], patience_s)[0]:
                try:
                    some = link.recv(65536)
                except ConnectionResetError:
                    break
                if not some:
                    break
                got += some
                if self.whole(got):
                    break
            return got

    @staticmethod
    def whole(got):
        head, mark, body = got.partition(b"\r\n\r\n")
        for line in head.lower().split(b"\r\n"):
            if line.startswith(b"content-length:"):
                return mark and len(body) >= int(line.split(b":")[1])
        return False

    def ask(self, method="GET", path="/", host=True, body=None, **headers):
        """The status of a request; its head is in self.head."""
        lines = ["%s %s HTTP/1.1" % (method, path)]
        if host is True:
            lines.append("Host: " + self.host)
        elif host is not None:
            lines += ["Host: " + h for h in ([host] if isinstance(host, str) else host)]
        for name, value in headers.items():
            lines.append("%s: %s" % (name.replace("_", "-"), value))
        if body is not None:
            lines.append("Content-Length: %d" % len(body))
        got = self.raw(("\r\n".join(lines) + "\r\n\r\n").encode() + (body or b""))
        self.head, _, self.body = got.partition(b"\r\n\r\n")
        return int(got.split(b" ")[1]) if got.startswith(b"HTTP/1.1 ") else 0

    def state(self, path="/events"):
        """What a new stream is told first."""
        with socket.create_connection(("127.0.0.1", self.port), timeout=5) as link:
            link.sendall(("GET %s HTTP/1.1\r\nHost: %s\r\n\r\n" % (path, self.host)).encode())
            got = b""
            while b"\n\n" not in got.partition(b"\r\n\r\n")[2]:
                got += link.recv(65536)
        data = next(line for line in got.split(b"\n") if line.startswith(b"data: "))
        return json.loads(data[6:])

    def answer(self, **more):
        """The status of an answer that is as the page makes it, but for what is given."""
        state = self.state()
        headers = {"Origin": "http://" + self.host, "Content_Type": "application/json",
                   "Sec_Fetch_Site": "same-origin"}
        body = {"step": state["step"]["id"], "nonce": state["nonce"], "line": "yes"}
        body.update(more.pop("fields", {}))
        text = more.pop("body", json.dumps(body).encode())
        headers.update(more.pop("headers", {}))
        headers = {name: value for name, value in headers.items() if value is not None}
        return self.ask(more.pop("method", "POST"), more.pop("path", "/answer"), body=text,
                        host=more.pop("host", True), **headers)

    def untouched(self):
        kinds = [entry["kind"] for entry in self.entries()]
        check("confirmed" not in kinds, "something was confirmed: %s" % kinds)


def names():
    """WEB-01, WEB-02: only what the bench is called is answered, the stream too."""
    with Served(SMALL) as at:
        port = at.port
        for path in ("/", "/events", "/main.js"):
            for host in ("evil.test", "evil.test:%d" % port, "10.0.0.1:%d" % port,
                         "127.0.0.1.:%d" % port, "LOCALHOST:%d" % port, "127.0.0.1", "",
                         "[::1%%lo]:%d" % port, "127.0.0.1:%d@evil.test" % port):
                status = at.ask(path=path, host=host)
                check(status in (400, 421), "%s at Host %r got %d" % (path, host, status))
            check(at.ask(path=path, host=None) == 400, "no Host was let in")
            check(at.ask(path=path, host=[at.host, "evil.test"]) == 400, "two Hosts were let in")
        check(at.ask(path="http://evil.test/", host=at.host) == 400, "an absolute target was let in")
        check(at.ask(host="localhost:%d" % port) == 200, "localhost is refused")
        at.untouched()


def state_changes():
    """WEB-03, WEB-04: only our own page's JSON changes anything."""
    own = {"Content_Type": "application/json"}
    with Served(SMALL) as at:
        for method in ("GET", "HEAD", "PUT", "DELETE", "OPTIONS", "PATCH"):
            status = at.answer(method=method)
            check(status in (0, 400, 405), "%s got %d" % (method, status))
        for kind in (None, "text/plain", "application/x-www-form-urlencoded",
                     "multipart/form-data; boundary=x", "application/json, text/plain",
                     "application/jsonp", "APPLICATION/JSON"):
            check(at.answer(headers={"Content_Type": kind}) == 415, "content type %s" % kind)
        for origin in (None, "null", "http://evil.test", "https://" + at.host,
                       "http://" + at.host + ".evil.test", "http://localhost:%d" % at.port):
            check(at.answer(headers={"Origin": origin}) == 403, "origin %s" % origin)
        for site in ("cross-site", "same-site", "none", "something"):
            check(at.answer(headers={"Sec_Fetch_Site": site}) == 403, "fetch site %s" % site)
        for site in ("cross-site", "same-site"):
            check(at.ask(path="/events", Sec_Fetch_Site=site) == 403, "stream to %s" % site)
            check(at.ask(path="/main.js", Sec_Fetch_Site=site) == 403, "script to %s" % site)
        for body in (b"", b"[]", b"{}", b"yes", b'{"line":"yes"}', b'{"line":1,"nonce":2,"step":3}',
                     b'{"line":"yes","line":"yes","nonce":"","step":""}', b"\xff\xfe", b"{" * 3000):
            check(at.answer(body=body) == 400, "body %r" % body[:40])
        for line in ("yes\nyes", "a\u202eb", "x" * 700, "a\u0000b"):
            check(at.answer(fields={"line": line}) == 400, "line %r" % line[:20])
        check(at.answer(body=b" " * 5000) in (0, 413), "a long body was taken")
        at.untouched()
        check(at.answer(headers=own) == 200, "our own page is refused")


def no_sharing():
    """WEB-05, WEB-06, WEB-15, WEB-17: no headers that let others in, and those that keep them out."""
    with Served(SMALL) as at:
        at.ask("OPTIONS", "/answer", Origin="http://evil.test",
               Access_Control_Request_Method="POST")
        check(b"access-control" not in at.head.lower(), "a preflight was answered")
        for path, status in (("/", 200), ("/nothing", 404), ("/main.js", 200)):
            check(at.ask(path=path) == status, path)
            head = at.head.lower().decode()
            for wanted in ("frame-ancestors 'none'", "script-src 'self'", "nosniff", "no-store",
                           "x-frame-options: deny", "cross-origin-opener-policy: same-origin",
                           "referrer-policy: no-referrer"):
                check(wanted in head, "%s: no %s" % (path, wanted))
            check("unsafe" not in head and "access-control" not in head, head)
            check("server:" not in head, head)
        for path in ("/nothing", "/../etc/passwd"):
            at.ask(path=path)
            text = at.body.decode().lower()
            check("/" not in text.replace("application/", "") and "microhttpd" not in text, text)
        check(at.ask(path="/main.js?callback=x") == 200 and not at.body.startswith(b"x("), "JSONP")


def paths():
    """WEB-12: nothing but the embedded files, whatever the path is made of."""
    with Served(SMALL) as at:
        for path in FILES:
            check(at.ask(path=path) == 200, path)
        for path in ("/../", "/..%2f..%2fetc/passwd", "/%2e%2e/%2e%2e/etc/passwd", "/main.js%00.png",
                     "/\\..\\..", "//etc/passwd", "/./main.js", "/main.js/", "/page/main.js",
                     "/index.html/", "/.git/config", "/record.db", "/key", "/" + "a" * 4000,
                     "/%6dain.js", "*", "main.js"):
            status = at.ask(path=path)
            check(status in (0, 400, 404, 414, 431), "%s got %d" % (path[:40], status))


def smuggling():
    """WEB-11: a body whose end is told twice, odd line ends and folded headers are refused."""
    with Served(SMALL) as at:
        start = "POST /answer HTTP/1.1\r\nHost: %s\r\n" % at.host
        second = "GET /main.js HTTP/1.1\r\nHost: %s\r\n\r\n" % at.host
        own = "Origin: http://%s\r\nContent-Type: application/json\r\n" % at.host
        for odd in ("Content-Length: 4\r\nTransfer-Encoding: chunked\r\n",
                    "Content-Length: 4\r\nContent-Length: 90\r\n",
                    "Transfer-Encoding: chunked\r\nTransfer-Encoding: identity\r\n"):
            got = at.raw((start + own + odd + "\r\n0\r\n\r\n" + second).encode(), 2.0)
            check(got.startswith(b"HTTP/1.1 4") and got.count(b"HTTP/1.1 ") == 1,
                  "%r got %r" % (odd, got[:60]))
        got = at.raw((start + own + "Content-Length: -1\r\n\r\n" + second).encode(), 2.0)
        check(b"200 OK" not in got, "a negative length was taken")
        at.untouched()


def streams():
    """WEB-08: nothing in a text begins a new field; forged ids change nothing."""
    with Served(SMALL) as at:
        for forged in ("0", "-1", "99999999999999999999", "x\ty"):
            with socket.create_connection(("127.0.0.1", at.port), timeout=5) as link:
                link.sendall(("GET /events HTTP/1.1\r\nHost: %s\r\nLast-Event-ID: %s\r\n\r\n"
                              % (at.host, forged)).encode())
                got = b""
                while b"\n\n" not in got.partition(b"\r\n\r\n")[2]:
                    got += link.recv(65536)
            check(got.count(b"event: state") == 1, "a forged id got more than the state")
        state = at.state()
        check("nonce" in state and "nonce" not in at.state("/watch/events"), "who is told the nonce")
        check(at.answer() == 200, "the caution is not taken")
        at.started.prompt()
        check(at.answer(fields={"line": "event: end data: {}"}) == 200, "a note")
        check(any("event: end" in h["text"] for h in at.state()["history"]), "it is not shown")


def slow_and_many():
    """WEB-09, WEB-10: who never reads, drips or only connects is dropped; the bench goes on."""
    with Served(SMALL) as at:
        links = []
        for i in range(400):
            link = socket.socket()
            link.settimeout(2)
            try:
                link.connect(("127.0.0.1", at.port))
                if i % 4 == 0:
                    link.sendall(("GET /events HTTP/1.1\r\nHost: %s\r\n\r\n" % at.host).encode())
                elif i % 4 == 1:
                    link.sendall(b"GET / HT")
                links.append(link)
            except OSError:
                link.close()
        began = time.monotonic()
        at.started.answer("yes")
        at.started.prompt(5)
        check(time.monotonic() - began < 2, "the bench waited for a crowd")
        big = at.raw(b"GET / HTTP/1.1\r\nHost: x\r\nX: " + b"a" * (1 << 20) + b"\r\n\r\n", 2.0)
        check(b"200 OK" not in big, "a header of a megabyte was taken")
        for link in links:
            link.close()
        deadline = time.monotonic() + 20
        while time.monotonic() < deadline:
            try:
                if at.ask() == 200:
                    return
            except OSError:
                pass
            time.sleep(0.2)
        check(False, "the display did not come back after the crowd had gone")


def drips():
    """A request that comes a byte at a time is cut off at its deadline."""
    with Served(SMALL) as at:
        began = time.monotonic()
        with socket.create_connection(("127.0.0.1", at.port), timeout=5) as link:
            try:
                while time.monotonic() - began < 20:
                    link.send(b"G" if time.monotonic() == began else b"E")
                    if select.select([link], [], [], 0.5)[0] and not link.recv(100):
                        break
            except OSError:
                pass
        took = time.monotonic() - began
        check(took < 15, "a request may drip for %.0f s" % took)


def here_only():
    """WEB-16: what is not this machine is not served unless it is asked for."""
    for where in ("0.0.0.0:8123", "192.0.2.1:8123", "[::]:8123", "127.0.0.1", "127.0.0.1:0",
                  "127.0.0.1:99999", ":8123", "127.0.0.1:x"):
        with benches.Bench(SMALL) as at:
            done = subprocess.run([benches.PROGRAM, "run", SMALL, "--build", "x", "--home", at.home,
                                   "--display", where], capture_output=True, text=True, timeout=20,
                                  stdin=subprocess.DEVNULL, check=False)
            check(done.returncode == 2 and "display" in done.stderr,
                  "%s: %d %s" % (where, done.returncode, done.stderr))
            check(not os.path.exists(os.path.join(at.home, "record.db")), "it wrote a record")


if __name__ == "__main__":
    sys.exit(benches.main([names, state_changes, no_sharing, paths, smuggling, streams, slow_and_many,
                           drips, here_only]))
