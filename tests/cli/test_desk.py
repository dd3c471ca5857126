"""The desk of `report --watch`: who is answered, how many at once, and how it closes."""

import contextlib
import http.client
import socket
import time

import pytest

from brewsim.cli import desk as desks
from brewsim.cli.desk import HERE, MOST_CLIENTS, Desk


@pytest.fixture
def desk():
    with Desk() as found:
        found.show("<html>page</html>", 3)
        yield found


def port_of(desk):
    return int(desk.address.rstrip("/").rpartition(":")[2])


def raw(desk, *lines):
    """Send the lines of a request; return the status and the whole answer."""
    with socket.create_connection((HERE, port_of(desk)), timeout=5) as line:
        line.sendall("\r\n".join([*lines, "", ""]).encode())
        told = b""
        while part := line.recv(65536):
            told += part
    return int(told.split(b" ")[1]), told.decode()


def get(desk, *more, host=None):
    name = f"{HERE}:{port_of(desk)}" if host is None else host
    return raw(desk, "GET /version HTTP/1.1", *([f"Host: {name}"] if name else []), *more)


def test_its_own_page_is_answered_and_guarded(desk):
    port = port_of(desk)
    for host in (f"{HERE}:{port}", f"localhost:{port}"):
        code, told = get(desk, f"Origin: http://{host}", "Sec-Fetch-Site: same-origin", host=host)

        assert code == 200
        assert told.endswith("\r\n\r\n3")
    for guard in ("nosniff", "same-origin", "frame-ancestors 'none'", "DENY", "no-store"):
        assert guard in told


@pytest.mark.parametrize(
    "host",
    ["evil.invalid", "evil.invalid:{port}", "{here}", "{here}:1", "localhost.evil:{port}", ""],
)
def test_a_foreign_host_is_refused(desk, host):
    told = get(desk, host=host.format(port=port_of(desk), here=HERE))

    assert told[0] == 403
    assert "for this machine only" in told[1]


@pytest.mark.parametrize(
    "line",
    [
        "Origin: https://evil.invalid",
        "Origin: null",
        "Origin: http://127.0.0.1:1",
        "Sec-Fetch-Site: cross-site",
        "Sec-Fetch-Site: same-site",
        "Host: evil.invalid",
    ],
)
def test_another_page_and_a_second_host_are_refused(desk, line):
    assert get(desk, line)[0] == 403


def test_other_ways_and_places_are_none(desk):
    host = f"Host: {HERE}:{port_of(desk)}"

    assert raw(desk, "GET /../../etc/passwd HTTP/1.1", host)[0] == 404
    assert raw(desk, "POST / HTTP/1.1", host)[0] == 501


def test_200_slow_clients_hold_nobody_up_and_it_closes_within_a_second():
    with contextlib.ExitStack() as open_lines, Desk() as desk:
        desk.show("page " * 500_000, 1)
        for number in range(200):
            line = socket.create_connection((HERE, port_of(desk)), timeout=5)
            open_lines.enter_context(line)
            whole = f"GET / HTTP/1.1\r\nHost: {HERE}:{port_of(desk)}\r\n\r\n"
            line.sendall(whole.encode() if number % 2 else b"GET / HTTP/1.1\r\nHost: x")
        start = time.monotonic()
        code, _told = get(desk)
        answered = time.monotonic()
        desk.__exit__(None, None, None)
        closed = time.monotonic()

    assert code == 200
    assert answered - start < 5  # a tenth of a second of processor; cores are shared
    assert closed - answered < 1


def test_a_client_that_keeps_it_waiting_is_hung_up_on(desk, monkeypatch):
    monkeypatch.setattr(desks._Answer, "timeout", 0.2)
    with socket.create_connection((HERE, port_of(desk)), timeout=5) as line:
        line.sendall(b"GET / HTTP/1.1\r\n")
        start = time.monotonic()

        assert line.recv(100) == b""
        assert 0.1 < time.monotonic() - start < 3


def test_a_client_too_many_is_hung_up_on_and_its_place_is_given_back(desk):
    with contextlib.ExitStack() as open_lines:
        for _ in range(MOST_CLIENTS):
            line = socket.create_connection((HERE, port_of(desk)), timeout=5)
            open_lines.enter_context(line)
        time.sleep(0.3)
        with pytest.raises((http.client.HTTPException, OSError, IndexError)):
            get(desk)
    time.sleep(0.5)

    assert get(desk)[0] == 200


def test_a_client_that_goes_away_leaves_no_traceback(desk, capfd):
    desk.show("page " * 2_000_000, 4)
    line = socket.create_connection((HERE, port_of(desk)), timeout=5)
    line.sendall(f"GET / HTTP/1.1\r\nHost: {HERE}:{port_of(desk)}\r\n\r\n".encode())
    line.recv(100)
    line.close()
    time.sleep(0.5)

    assert get(desk)[0] == 200
    assert capfd.readouterr().err == ""
