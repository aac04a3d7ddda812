"""A receiver of events on loopback: real TLS, with a certificate of an authority made for the test."""

import ssl
import subprocess
from contextlib import contextmanager
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from threading import Thread


def openssl(*words, cwd, given=None):
    done = subprocess.run(["openssl", *words], cwd=cwd, check=True, capture_output=True, input=given)
    return done.stdout


def make_authority(folder, name="events.example"):
    """Write ca.pem, and site.pem with its key for one name signed by it."""
    new_key = ("-newkey", "ec", "-pkeyopt", "ec_paramgen_curve:prime256v1", "-nodes")
    made_for = ("-subj", "/CN=an authority of the tests", "-addext", "keyUsage=critical,keyCertSign")
    openssl("req", "-x509", *new_key, "-keyout", "ca.key", "-out", "ca.pem", "-days", "2", *made_for, cwd=folder)
    openssl("req", *new_key, "-keyout", "site.key", "-out", "site.csr", "-subj", f"/CN={name}", cwd=folder)
    (folder / "names").write_text(f"subjectAltName=DNS:{name}\nauthorityKeyIdentifier=keyid\n", encoding="ascii")
    signed = ("-CA", "ca.pem", "-CAkey", "ca.key", "-CAcreateserial", "-extfile", "names", "-days", "2")
    openssl("x509", "-req", "-in", "site.csr", "-out", "site.pem", *signed, cwd=folder)


class Receiver(BaseHTTPRequestHandler):
    """Writes down what comes and answers as it is told."""

    def do_POST(self):
        length = int(self.headers["Content-Length"])
        body = self.rfile.read(length)
        if len(body) < length:  # its sender died in the middle, so that nothing has come
            return
        self.server.came.append((self.path, dict(self.headers), body))
        self.server.answer(self)

    def log_message(self, *words):
        """Say nothing."""


class _Server(ThreadingHTTPServer):
    def handle_error(self, request, client_address):
        """A sender that cuts the line is no failure of the receiver."""


@contextmanager
def receiving(folder, answer):
    """Run a receiver; `came` is what it got."""
    server = _Server(("127.0.0.1", 0), Receiver)
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    context.load_cert_chain(folder / "site.pem", folder / "site.key")
    # The handshake belongs to the thread of its connection: one that is refused must not end the server.
    server.socket = context.wrap_socket(server.socket, server_side=True, do_handshake_on_connect=False)
    server.answer, server.came = answer, []
    running = Thread(target=server.serve_forever, kwargs={"poll_interval": 0.02}, daemon=True)
    running.start()
    try:
        yield server
    finally:
        server.shutdown()
        server.server_close()
        running.join()


def says(status, **headers):
    """An answer without a body."""

    def answer(handler):
        handler.send_response(status)
        for name, value in headers.items():
            handler.send_header(name, value)
        handler.send_header("Content-Length", "0")
        handler.end_headers()

    return answer
