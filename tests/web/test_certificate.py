"""HTTPS in the shop's network: a certificate made here or given, and a server that really speaks it."""

import datetime as dt
import http.client
import os
import re
import socket
import ssl
import stat
import subprocess
import sys
import time

import pytest
from click.testing import CliRunner
from cryptography import x509

from lostgallon.cli.serve import command as serve
from lostgallon.shop.trouble import BadArgument
from lostgallon.web.certificate import LASTS, given, own_certificate

NOW = dt.datetime(2026, 1, 15, tzinfo=dt.UTC)
NAMES = ("localhost", "counter", "192.0.2.7")


def read(made):
    return x509.load_pem_x509_certificate(made.chain.read_bytes())


def test_it_is_for_its_names_alone_and_vouches_for_no_other(tmp_path):
    made = own_certificate(tmp_path / "https", NAMES, NOW)
    told = read(made)
    assert {
        str(one.value) for one in told.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
    } == set(NAMES)
    assert told.extensions.get_extension_for_class(x509.BasicConstraints).value.ca is False
    # CA/Browser Forum, Baseline Requirements 6.3.2: at most 398 days.
    assert told.not_valid_after_utc - told.not_valid_before_utc <= dt.timedelta(days=398)
    assert made.fingerprint.replace(" ", "").lower() == told.fingerprint(told.signature_hash_algorithm).hex()


@pytest.mark.skipif(os.name == "nt", reason="no such modes on Windows")
def test_its_key_is_for_its_owner_alone(tmp_path):
    made = own_certificate(tmp_path / "https", NAMES, NOW)
    assert stat.S_IMODE(made.key.stat().st_mode) == 0o600
    assert stat.S_IMODE(made.key.parent.stat().st_mode) == 0o700


def test_it_stays_while_it_serves_and_is_made_anew_when_it_does_not(tmp_path):
    first = own_certificate(tmp_path, NAMES, NOW).fingerprint
    assert own_certificate(tmp_path, NAMES, NOW + dt.timedelta(days=100)).fingerprint == first
    other_address = own_certificate(tmp_path, (*NAMES, "192.0.2.8"), NOW).fingerprint
    assert other_address != first
    assert own_certificate(tmp_path, NAMES, NOW + LASTS).fingerprint != other_address


def test_a_given_one_is_taken_and_nonsense_is_said_in_one_line(tmp_path):
    made = own_certificate(tmp_path, NAMES, NOW)
    assert given(made.chain, made.key).fingerprint == made.fingerprint
    wrong = tmp_path / "wrong.pem"
    for content in (b"", b"no certificate", made.key.read_bytes()):
        wrong.write_bytes(content)
        with pytest.raises(BadArgument, match=r"--certificate: found .*expected a certificate and its key"):
            given(wrong, made.key)
    with pytest.raises(BadArgument, match="no such file"):
        given(tmp_path / "none.pem", made.key)


@pytest.mark.parametrize(
    ("arguments", "code", "said"),
    [
        (["--plain-http"], "tall river", "--plain-http: found it without --lan"),
        (["--lan", "--certificate", "a.pem"], "tall river", "one of --certificate and --key"),
        (["--lan", "--certificate", "a", "--key", "b", "--plain-http"], "tall river", "beside --certificate"),
        (["--lan"], "short", "an access code of 5 characters"),
    ],
)
def test_options_that_do_not_fit(tmp_path, arguments, code, said):
    answer = CliRunner(env={"LOSTGALLON_ACCESS_CODE": code}).invoke(
        serve, [*arguments, "--data", str(tmp_path / "shop")]
    )
    assert isinstance(answer.exception, BadArgument)
    assert said in str(answer.exception)
    assert not (tmp_path / "shop").exists()


@pytest.fixture
def running(tmp_path, empty_data):
    """`lostgallon serve --lan` as a process of its own; its output and the port."""
    with socket.create_server(("127.0.0.1", 0)) as free:
        port = free.getsockname()[1]
    environment = {**os.environ, "LOSTGALLON_ACCESS_CODE": "tall river road", "PYTHONPATH": os.pathsep.join(sys.path)}
    out = tmp_path / "said.txt"
    with out.open("w") as said:
        process = subprocess.Popen(
            [sys.executable, "-m", "lostgallon", "serve", "--lan", "--data", str(tmp_path / "shop"), "--port", str(port)],
            env=environment, stdout=said, stderr=subprocess.STDOUT,
        )  # fmt: skip
    yield process, out, port
    process.terminate()
    process.wait(20)


def test_the_network_is_served_by_https_and_this_computer_beside_it(running, tmp_path):
    process, out, port = running
    end = time.monotonic() + 30.0
    here = None
    while here is None and time.monotonic() < end and process.poll() is None:
        time.sleep(0.1)
        try:
            here = asked(http.client.HTTPConnection("127.0.0.1", port, timeout=5))
        except OSError:
            continue
    assert here == 303, out.read_text()
    said = out.read_text()
    outside = re.search(r"https://([\d.]+):", said)
    if outside is None:
        assert "Found no network" in said
        pytest.skip("no network on this machine")
    trusting = ssl.create_default_context(cafile=tmp_path / "shop" / "https" / "certificate.pem")
    assert asked(http.client.HTTPSConnection(outside[1], port, timeout=5, context=trusting)) == 303
    with pytest.raises(ssl.SSLCertVerificationError):
        asked(http.client.HTTPSConnection(outside[1], port, timeout=5))
    with pytest.raises((http.client.HTTPException, OSError)):
        asked(http.client.HTTPConnection(outside[1], port, timeout=5))
    assert "tall river road" not in said


def asked(connection):
    try:
        connection.request("GET", "/")
        return connection.getresponse().status
    finally:
        connection.close()
