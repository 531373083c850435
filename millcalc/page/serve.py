"""Open the page: sockets on this machine alone or on the workshop's network too, its address shown, until stopped."""

from __future__ import annotations

import os
import socket
import threading
from collections.abc import Callable
from pathlib import Path
from typing import Any

from millcalc.errors import UsageError
from millcalc.page import tuning

Say = Callable[[str], None]


def listen(address: str, port: int) -> socket.socket:
    """A socket that listens; another free port when the usual one is in use and none was asked for.

    address: Of this machine.
    port: Wanted port; 0 for the usual one [-].
    Returns: The socket.
    Raises UsageError: If the port that was asked for is in use.
    """
    made = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    for wanted in (port,) if port else (tuning.PORT, 0):
        try:
            made.bind((address, wanted))
        except OSError:
            continue
        made.listen(128)
        return made
    made.close()
    raise UsageError(f"port {port} is in use or not allowed; leave --port out, and a free one is taken")


def network_address() -> str | None:
    """This machine's address in the local network; nothing is sent to find it.

    Returns: An IPv4 address; None without a network.

    Source: RFC 5737: 192.0.2.0/24 is for documentation, nobody answers there.
    """
    probe = socket.socket(socket.AF_INET, socket.SOCK_DGRAM)
    try:
        probe.connect(("192.0.2.1", 9))
        found = str(probe.getsockname()[0])
    except OSError:
        return None
    finally:
        probe.close()
    return None if found.startswith("127.") or found == "0.0.0.0" else found


def qr_lines(address: str, *, unicode: bool) -> list[str]:
    """An address as a QR code in characters.

    address: What it says.
    unicode: Whether the terminal shows half blocks.
    Returns: Lines; the blocks are the light places, as a dark terminal shows them. Phones read the inverse too.
    """
    import segno

    matrix = [list(row) for row in segno.make(address, error="l", micro=False).matrix_iter(border=2)]
    if not unicode:
        return ["".join("  " if cell else "##" for cell in row) for row in matrix]
    if len(matrix) % 2:
        matrix.append([0] * len(matrix[0]))
    blocks = {(0, 0): "█", (0, 1): "▀", (1, 0): "▄", (1, 1): " "}
    return [
        "".join(blocks[(int(bool(a)), int(bool(b)))] for a, b in zip(top, low, strict=True))
        for top, low in zip(matrix[::2], matrix[1::2], strict=True)
    ]


def serve(
    folder: Path, say: Say, *, phone: bool = False, port: int = 0, browse: bool = True, unicode: bool = True
) -> None:
    """Serve the page until it is stopped with Ctrl-C.

    folder: Where jobs are kept.
    say: Shows a line to the person.
    phone: Whether the local network may connect too, with a one-time code.
    port: Port; 0 for the usual one or a free one [-].
    browse: Whether to open the browser.
    unicode: Whether the terminal shows block characters.
    Raises UsageError: If the port is in use, or there is no network for the phone.
    """
    import uvicorn

    from millcalc.page.app import Door, make_app
    from millcalc.page.desk import Desk, load
    from millcalc.page.sessions import Sessions

    own = listen("127.0.0.1", port)
    number = own.getsockname()[1]
    sockets, hosts = [own], {f"127.0.0.1:{number}", f"localhost:{number}"}
    outside = ""
    if phone:
        address = network_address()
        if address is None:
            own.close()
            raise UsageError("this machine is in no network, so no phone can reach it; leave --phone out")
        sockets.append(listen(address, number))
        hosts.add(f"{address}:{number}")
        outside = f"http://{address}:{number}/code"
    sessions = Sessions(phone=phone, tell=lambda code: say(f"one-time code for the next phone: {code}"))
    door = Door(hosts, folder, sessions, desk=Desk(beside=(os.cpu_count() or 1) > 1))
    app = make_app(door)
    inside = f"http://127.0.0.1:{number}/enter/{sessions.token}"
    _tell(say, inside, outside, folder, unicode)
    level = "warning" if os.environ.get("MILLCALC_TRACEBACK") else "critical"
    config = uvicorn.Config(
        app, log_level=level, access_log=False, lifespan="off", server_header=False, date_header=False,
        timeout_keep_alive=30, limit_concurrency=200, ws="none",
    )  # fmt: skip
    server = uvicorn.Server(config)
    threading.Thread(target=load, daemon=True).start()
    if browse:
        _browse_when_up(server, inside)
    try:
        server.run(sockets=sockets)
    finally:
        door.bench.close()
        door.desk.close()
        say("the page is closed")


def _tell(say: Say, inside: str, outside: str, folder: Path, unicode: bool) -> None:
    say(f"the page: {inside}")
    say("  opens for browsers on this machine only; who has this address can use it, so keep it to yourself")
    say(f"  jobs are kept in {folder}")
    if outside:
        for line in qr_lines(outside, unicode=unicode):
            say("  " + line)
        say(f"the phone: {outside}")
        say(
            "  opens for every device in this network that knows the one-time code. What goes over the network"
        )
        say("  is not encrypted: use it in your own workshop's network, not in a shared one.")
    say("Ctrl-C closes it.")


def _browse_when_up(server: Any, address: str) -> None:
    import time
    import webbrowser

    def wait() -> None:
        for _ in range(200):
            if server.started:
                webbrowser.open(address)
                return
            time.sleep(0.05)

    threading.Thread(target=wait, daemon=True).start()
