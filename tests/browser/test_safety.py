# SPDX-FileCopyrightText: 2026 The Pennybridge authors
# SPDX-License-Identifier: Apache-2.0
"""Hostile requests over real sockets; beside each refusal the same request in good form succeeds."""

import json
import os
import pathlib
import re
import signal
import socket
import subprocess
import sys
import threading
import time

from served import PROGRAM, served

failures = []


def expect(condition, what):
    if not condition:
        failures.append(what)
        print("FAILED", what)


def ask(port, text, timeout=20, address="127.0.0.1"):
    """Sends bytes as they stand; returns status and body."""
    with socket.create_connection((address, port), timeout=timeout) as s:
        try:
            s.sendall(text if isinstance(text, bytes) else text.encode())
        except (BrokenPipeError, ConnectionResetError):
            pass  # refused before all of it was sent; the answer may still be there
        answer = b""
        while True:
            try:
                piece = s.recv(65536)
            except ConnectionResetError:
                break
            if not piece:
                break
            answer += piece
            head, _, body = answer.partition(b"\r\n\r\n")
            length = re.search(rb"(?i)content-length: (\d+)", head)
            if length and len(body) >= int(length.group(1)):
                break
        status = re.match(rb"HTTP/1\.1 (\d+)", answer)
        return (int(status.group(1)) if status else 0), answer.partition(b"\r\n\r\n")[2]


def get(desk, path, host=None, extra=""):
    return ask(desk.port, f"GET {path} HTTP/1.1\r\nHost: {host or f'127.0.0.1:{desk.port}'}\r\n{extra}Connection: close\r\n\r\n")


def post(desk, path, body, token, extra="", kind="application/json"):
    head = f"POST {path} HTTP/1.1\r\nHost: 127.0.0.1:{desk.port}\r\nContent-Type: {kind}\r\nX-Pennybridge-Token: {token}\r\n{extra}"
    return ask(desk.port, f"{head}Content-Length: {len(body)}\r\nConnection: close\r\n\r\n{body}")


def token_of(desk):
    return re.search(rb'desk-token" content="([0-9a-f]+)"', get(desk, "/")[1]).group(1).decode()


def hosts_and_origins(desk):
    expect(get(desk, "/api/version")[0] == 200, "own host")
    expect(get(desk, "/api/version", f"localhost:{desk.port}")[0] == 200, "localhost")
    for host in ("example.org", f"example.org:{desk.port}", "127.0.0.1", f"127.0.0.1:{desk.port}.example.org", f"127.0.0.1:{desk.port + 1}"):
        expect(get(desk, "/api/version", host)[0] == 403, f"host {host}")
    two = f"GET /api/version HTTP/1.1\r\nHost: 127.0.0.1:{desk.port}\r\nHost: example.org\r\nConnection: close\r\n\r\n"
    expect(ask(desk.port, two)[0] == 403, "two hosts")
    expect(ask(desk.port, "GET /api/version HTTP/1.1\r\nConnection: close\r\n\r\n")[0] == 403, "no host")
    expect(get(desk, "/api/version", extra=f"Origin: http://127.0.0.1:{desk.port}\r\n")[0] == 200, "own origin")
    expect(get(desk, "/api/version", extra="Origin: http://example.org\r\n")[0] == 403, "other origin")
    head = ask(desk.port, f"GET / HTTP/1.1\r\nHost: 127.0.0.1:{desk.port}\r\nOrigin: http://127.0.0.1:{desk.port}\r\nConnection: close\r\n\r\n")
    expect(b"Access-Control" not in head[1], "no sharing with other origins")


def loopback_only(desk):
    socket.create_connection(("127.0.0.1", desk.port), timeout=5).close()
    try:
        socket.create_connection(("127.0.0.2", desk.port), timeout=2).close()
        expect(False, "listens on another address")
    except OSError:
        pass
    listening = [line.split() for line in pathlib.Path("/proc/net/tcp").read_text().splitlines()[1:]]
    own = [row[1] for row in listening if row[3] == "0A" and int(row[1].split(":")[1], 16) == desk.port]
    expect(own and all(a.startswith("0100007F:") for a in own), f"listens on {own}")
    six = [line.split() for line in pathlib.Path("/proc/net/tcp6").read_text().splitlines()[1:]] if pathlib.Path("/proc/net/tcp6").exists() else []
    expect(not [r for r in six if r[3] == "0A" and int(r[1].split(":")[1], 16) == desk.port], "listens on IPv6")


def paths(desk):
    folder = pathlib.Path(desk.folder)
    (folder / "own.toml").write_text("a = 1\n")
    secret = folder.parent / f"secret-{os.getpid()}.toml"
    secret.write_text("secret = 1\n")
    (folder / "own.result").mkdir()
    (folder / "own.result" / "design.json").write_text("{}\n")
    try:
        for route in ("/api/file", "/download", "/api/result"):
            expect(get(desk, f"{route}?file=own.toml")[0] == 200, f"own file by {route}")
        expect(get(desk, "/api/file?file=%6fwn.toml")[0] == 200, "own file, encoded")
        up = [f"../{secret.name}", f"..%2f{secret.name}", f"%2e%2e/{secret.name}", f"%2e%2e%2f{secret.name}", f"%252e%252e%252f{secret.name}",
              f"x/../../{secret.name}", str(secret), f"%2f{str(secret)[1:]}", f"..%5c{secret.name}", f"own.toml%00/../../{secret.name}"]
        for name in up:
            for route in ("/api/file", "/download", "/api/result"):
                status, body = get(desk, f"{route}?file={name}")
                expect(status == 404 and b"secret = 1" not in body, f"{route} {name}: {status}")
        (folder / "inner.toml").symlink_to(folder / "own.toml")
        expect(get(desk, "/api/file?file=inner.toml")[0] == 200, "a link that stays in the folder")
        (folder / "link.toml").symlink_to(secret)
        (folder / "up").symlink_to(folder.parent)
        (folder / "own.result" / "report.html").symlink_to(secret)
        for name in ("link.toml", f"up/{secret.name}", "own.result/report.html"):
            status, body = get(desk, f"/download?file={name}")
            expect(status == 404 and b"secret = 1" not in body, f"link {name}: {status}")
        expect(b"secret" not in get(desk, "/api/folder")[1], "no link is listed that leaves the folder")
        expect(get(desk, "/")[0] == 200, "the page")
        for path in (f"/../{secret.name}", f"/%2e%2e/{secret.name}", f"//etc/passwd", "/own.toml"):
            expect(get(desk, path)[0] == 404, f"path {path}")
    finally:
        secret.unlink()


def bodies(desk):
    token = token_of(desk)
    good = json.dumps({"file": "x", "text": "a" * 500_000})
    expect(post(desk, "/api/brief", good, token)[0] == 200, "half a MiB")
    expect(post(desk, "/api/brief", json.dumps({"text": "a" * 1_100_000}), token)[0] in (0, 413), "more than a MiB")
    expect(post(desk, "/api/brief", good, "0" * len(token))[0] == 403, "wrong token")
    expect(post(desk, "/api/brief", good, token, kind="text/plain")[0] == 415, "form of another page")
    expect(post(desk, "/api/brief", "{", token)[0] == 400, "not JSON")
    deep = "[" * 100_000
    expect(post(desk, "/api/brief", deep, token)[0] == 400, "deeply nested")
    for garbage in (b"\x16\x03\x01\x02\x00\x01", b"GET\r\n\r\n", b"\x00" * 4000, b"GET / HTTP/9.9\r\n\r\n"):
        try:
            ask(desk.port, garbage, timeout=3)
        except OSError:
            pass
    expect(get(desk, "/api/version")[0] == 200, "alive after garbage")


def uploads(desk):
    """A capture may be longer than a MiB; everything else of the rules holds for it too."""
    token = token_of(desk)
    folder = pathlib.Path(desk.folder)
    long = "t_s,supply_A\n" + "".join(f"{k}e-6,0.5\n" for k in range(150_000))
    expect(len(long) > 1 << 20, "longer than a MiB")

    def send(name, body=long, **more):
        return post(desk, f"/api/upload?name={name}", body, more.pop("token", token), kind=more.pop("kind", "text/csv"), **more)

    status, answer = send("scope.csv")
    expect(status == 200 and json.loads(answer)["file"] == "scope.csv", f"upload: {status}")
    expect((folder / "scope.csv").read_text() == long, "as it was sent")
    expect(json.loads(send("scope.csv", "other\n")[1])["file"] == "scope-2.csv", "nothing is overwritten")
    expect((folder / "scope.csv").read_text() == long, "the first is as it was")
    there = sorted(folder.iterdir())
    for name in ("../x.csv", "..%2fx.csv", "%2e%2e%2fx.csv", "/tmp/x.csv", "%2ftmp%2fx.csv", "x.toml", "x.csv%00.csv", ".x.csv", "below%2fx.csv", ""):
        expect(send(name, "1,2\n")[0] == 400, f"upload as {name}")
    expect(send("x.csv", token="0" * len(token))[0] == 403, "upload with a wrong token")
    expect(send("x.csv", kind="application/json")[0] == 415, "upload of another type")
    expect(send("x.csv", extra="Origin: http://example.org\r\n")[0] == 403, "upload from another page")
    expect(get(desk, "/api/upload?name=x.csv")[0] == 404, "upload by GET")
    head = f"POST /api/upload?name=x.csv HTTP/1.1\r\nHost: 127.0.0.1:{desk.port}\r\nContent-Type: text/csv\r\nX-Pennybridge-Token: {token}\r\n"
    expect(ask(desk.port, head + f"Content-Length: {2 << 30}\r\n\r\n")[0] == 413, "an upload that is to be too long")
    with socket.create_connection(("127.0.0.1", desk.port), timeout=5) as s:
        s.sendall((head + "Content-Length: 1000\r\n\r\nt,v\n").encode())
        time.sleep(0.2)
    for _ in range(100):
        if sorted(folder.iterdir()) == there:
            break
        time.sleep(0.1)
    expect(sorted(folder.iterdir()) == there, "half an upload leaves nothing")
    expect(not (folder.parent / "x.csv").exists(), "nothing outside of the folder")
    for path, key, more in (("/api/capture", "capture", {}), ("/api/mapping", "file", {}), ("/api/jobs", "file", {"kind": "import"})):
        expect(post(desk, path, json.dumps({key: "scope.csv", **more}), token)[0] == 200, f"{path} in the folder")
        for name in ("../scope.csv", "..%2fscope.csv"):
            expect(post(desk, path, json.dumps({key: name, **more}), token)[0] == 404, f"{path} of {name}")
    expect(get(desk, "/api/parts?class=n-mosfet")[0] == 200, "parts")
    expect(get(desk, "/api/duty?picture=..%2f")[0] == 404, "a picture that is none")


def dripping(desk):
    """64 clients that send a byte now and then."""
    slow = [socket.create_connection(("127.0.0.1", desk.port), timeout=20) for _ in range(64)]
    try:
        for beat in range(4):
            for s in slow:
                s.sendall(b"GET / HTTP/1.1\r\nHost: x"[beat * 3 : beat * 3 + 3])
            time.sleep(0.3)
            began = time.monotonic()
            expect(get(desk, "/api/version")[0] == 200, "answers beside 64 dripping clients")
            expect(time.monotonic() - began < 2, "answers quickly beside 64 dripping clients")
    finally:
        for s in slow:
            s.close()


def begun(desk):
    """A client that never lets ten seconds pass without a byte, and never ends its request."""
    slow = socket.create_connection(("127.0.0.1", desk.port), timeout=20)
    slow.sendall(b"GET / HTTP/1.1\r\n")
    return slow, time.monotonic()


def deadline(slow, since):
    """Such a client is hung up on all the same: a request has a deadline, not only its pauses."""
    slow.settimeout(1)
    while time.monotonic() - since < 30:
        try:
            slow.sendall(b"x")
            if slow.recv(4096) == b"":
                break
        except TimeoutError:
            continue
        except OSError:
            break
    took = time.monotonic() - since
    expect(6 < took < 20, f"a request that does not end was dropped after {took:.0f} s")
    slow.close()


def second_server(desk):
    second = subprocess.run([PROGRAM, "serve", desk.folder, "--port", str(desk.port), "--json"], capture_output=True, text=True, timeout=60)
    expect(second.returncode == 3, f"a second server ends with {second.returncode}")
    expect("problems" in json.loads(second.stdout), "and says why in JSON")
    expect(get(desk, "/api/version")[0] == 200, "the first lives on")
    missing = subprocess.run([PROGRAM, "serve", desk.folder + "/none"], capture_output=True, text=True, timeout=60)
    expect(missing.returncode == 2, "a folder that is not there")


def interrupted(desk):
    desk.child.send_signal(signal.SIGINT)
    expect(desk.child.wait(20) == 130, "Ctrl-C")


with served() as one:
    endless = threading.Thread(target=deadline, args=begun(one))
    endless.start()
    for test in (hosts_and_origins, loopback_only, paths, bodies, uploads, dripping, second_server):
        print(test.__name__)
        test(one)
    endless.join()
    expect(get(one, "/")[0] == 200, "a request that ends")
    interrupted(one)
sys.exit(1 if failures else 0)
