"""`benchapp serve` as a person or a service manager meets it."""

import http.client
import os
import socket
import subprocess
import sys
from urllib.parse import urlsplit

import pytest

from benchapp.commands.serve import serve

pytestmark = pytest.mark.slow  # starts the command


def run(*arguments, cwd, environment=None):
    return subprocess.run(
        [sys.executable, "-m", "benchapp", *arguments],
        cwd=cwd,
        env=os.environ | (environment or {}),
        capture_output=True,
        text=True,
        check=False,
    )


def test_a_taken_port_is_one_sentence(checkout, tmp_path):
    with socket.create_server(("127.0.0.1", 0)) as other:
        port = str(other.getsockname()[1])
        done = run("serve", "--port", port, "--data", str(tmp_path / "d"), cwd=checkout.path)
    assert done.returncode == 2
    assert f"Port {port} is taken" in done.stderr
    assert len(done.stderr.splitlines()) == 1
    assert done.stdout == ""


def test_two_servers_do_not_share_a_port(checkout, server, tmp_path):
    first = server(checkout=checkout.path)
    port = str(urlsplit(first.url).port)
    done = run("serve", "--port", port, "--data", str(tmp_path / "d"), cwd=checkout.path)
    assert done.returncode == 2
    assert "is taken" in done.stderr


def test_an_address_that_is_not_ours_is_one_sentence(checkout, tmp_path):
    # 192.0.2.0/24 belongs to nobody (RFC 5737).
    done = run("serve", "--host", "192.0.2.1", "--data", str(tmp_path / "d"), cwd=checkout.path)
    assert done.returncode == 2
    assert "no address 192.0.2.1" in done.stderr


def test_a_data_directory_that_cannot_be_is_one_sentence(checkout, tmp_path):
    (tmp_path / "file").write_text("")
    done = run("serve", "--data", str(tmp_path / "file" / "d"), cwd=checkout.path)
    assert done.returncode == 2
    assert "Choose another with --data." in done.stderr
    assert len(done.stderr.splitlines()) == 1
    assert done.stdout == ""


def test_port_0_takes_a_free_one_and_answers_when_it_says_so(checkout, server):
    running = server(checkout=checkout.path)
    address = urlsplit(running.url)
    assert address.hostname == "127.0.0.1"
    assert address.port != 0
    connection = http.client.HTTPConnection(address.hostname, address.port)
    connection.request("GET", "/")
    assert connection.getresponse().status == 200
    connection.close()


def test_sigterm_ends_it_with_a_caller_still_connected(checkout, server):
    running = server(checkout=checkout.path)
    address = urlsplit(running.url)
    silent = socket.create_connection((address.hostname, address.port))
    kept = http.client.HTTPConnection(address.hostname, address.port)
    kept.request("GET", "/")
    kept.getresponse().read()
    assert running.stop() == 0
    silent.close()
    kept.close()
    with pytest.raises(ConnectionRefusedError):
        socket.create_connection((address.hostname, address.port))


@pytest.mark.skipif(os.name != "posix", reason="SIGKILL is POSIX's")
def test_a_server_killed_outright_leaves_nothing_behind(checkout, server):
    running = server(checkout=checkout.path)
    running.process.kill()
    # Whatever it starts shares the pipe: reading ends only when the last that holds it has ended.
    assert running.stop() == -9
    assert "Traceback" not in "".join(running.said)
    with pytest.raises(ConnectionRefusedError):
        socket.create_connection((urlsplit(running.url).hostname, urlsplit(running.url).port))


def test_get_prints_one_answer(checkout, tmp_path):
    data = ["--data", str(tmp_path / "d")]
    done = run("serve", *data, "--get", "/static/late.js", cwd=checkout.path)
    assert (done.returncode, done.stdout) == (0, 'export const EDITION="one"')
    missing = run("serve", *data, "--get", "/missing", cwd=checkout.path)
    assert missing.returncode == 1
    assert missing.stdout == "There is nothing at this address. Go back to the start page.\n"
    slashless = run("serve", *data, "--get", "missing", cwd=checkout.path)
    assert slashless.returncode == 2


def test_every_option_is_an_environment_variable(checkout, tmp_path):
    environment = {
        "BENCHAPP_SERVE_DATA": str(tmp_path / "d"),
        "BENCHAPP_SERVE_DEMO": "1",
        "BENCHAPP_SERVE_GET": "/demo.json",
    }
    done = run("serve", cwd=checkout.path, environment=environment)
    assert done.returncode == 0
    assert '"today"' in done.stdout
    assert (tmp_path / "d" / "secret_key").exists()
    names = {parameter.name: parameter for parameter in serve.params}
    assert set(names) == {
        *("host", "port", "data", "demo", "open_browser", "get", "pair"),
        *("lan", "trust_port", "behind_proxy", "database", "contact", "push_services"),
        *("attachments", "attachments_room", "attachment_size"),
    }


def test_the_demo_keeps_its_data_apart(checkout, tmp_path):
    # XDG base directories decide where data lives on Linux; HOME elsewhere.
    home = {"XDG_DATA_HOME": str(tmp_path), "HOME": str(tmp_path), "LOCALAPPDATA": str(tmp_path)}
    for more in ([], ["--demo"]):
        assert (
            run("serve", *more, "--get", "/", cwd=checkout.path, environment=home).returncode == 0
        )
    folders = sorted((path.parent for path in tmp_path.rglob("secret_key")), key=lambda p: p.parts)
    assert len(folders) == 2
    assert folders[1] == folders[0] / "demo"


def test_help_does_not_load_the_server(checkout):
    code = (
        "import sys; from benchapp.cli import main; main(['--help'], standalone_mode=False); "
        "heavy = {'flask', 'uvicorn', 'pint', 'platformdirs'} & set(sys.modules); "
        "sys.exit(len(heavy))"
    )
    done = subprocess.run([sys.executable, "-c", code], cwd=checkout.path, check=False)
    assert done.returncode == 0
