"""A wire between browser and deck that can be cut, slowed and mended, on a port of its own."""

import select
import socket
import threading
import time


class Wire:
    """Passes bytes on to a port of this machine. `cut` loses nothing and delivers nothing, as a
    phone out of reach of the network; what was sent meanwhile comes after it is mended."""

    def __init__(self, to):
        self.to, self.is_cut, self.delay = to, False, 0.0
        self.listener = socket.create_server(("127.0.0.1", 0))
        self.port = self.listener.getsockname()[1]
        threading.Thread(target=self._listen, daemon=True).start()

    def _listen(self):
        while True:
            near, _ = self.listener.accept()
            threading.Thread(target=self._connect, args=(near,), daemon=True).start()

    def _connect(self, near):
        while self.is_cut:
            time.sleep(0.02)
        try:
            far = socket.create_connection(("127.0.0.1", self.to))
        except OSError:
            near.close()
            return
        for one, other in [(near, far), (far, near)]:
            threading.Thread(target=self._pass, args=(one, other), daemon=True).start()

    def _pass(self, one, other):
        try:
            while True:
                select.select([one], [], [])
                while self.is_cut:
                    time.sleep(0.02)
                data = one.recv(65536)
                time.sleep(self.delay)
                if not data:
                    break
                other.sendall(data)
        except (OSError, ValueError):
            pass
        for end in (one, other):
            try:
                end.shutdown(socket.SHUT_RDWR)
            except OSError:
                pass
