"""`tipbell check` tries certificate and key as a browser would."""

from __future__ import annotations

import subprocess
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from watcher.commands.check import check
from watcher.commands.check_certificate import certificate_finding
from watcher.settings import PageSettings


@pytest.fixture(scope="module")
def make(tmp_path_factory: pytest.TempPathFactory, openssl_path: str):
    """Make a certificate as people make one: with openssl."""
    folder = tmp_path_factory.mktemp("tls")

    def made(
        name: str, *, days: str = "90", names: str = "DNS:bench.example", key: str = "-nodes"
    ) -> tuple[Path, Path]:
        pem, secret = folder / f"{name}.pem", folder / f"{name}.key"
        alt = ["-addext", f"subjectAltName={names}"] if names else []
        subprocess.run(
            [openssl_path, "req", "-x509", "-newkey", "ec", "-pkeyopt", "ec_paramgen_curve:prime256v1",
             *([key] if key == "-nodes" else ["-passout", key]), "-days", days, "-subj", "/CN=bench", *alt,
             "-keyout", str(secret), "-out", str(pem)],
            check=True, capture_output=True,
        )  # fmt: skip
        return pem, secret

    return made


@pytest.fixture(scope="module")
def ended(tmp_path_factory: pytest.TempPathFactory, openssl_path: str) -> tuple[Path, Path]:
    """A certificate of years ago, by openssl's little authority, which alone takes a date in the past."""
    home = tmp_path_factory.mktemp("ended")
    (home / "index.txt").touch()
    (home / "ca.cnf").write_text(
        "[ca]\ndefault_ca=own\n[own]\ndatabase=index.txt\nnew_certs_dir=.\nserial=serial\ndefault_md=sha256\n"
        "policy=any\nx509_extensions=ext\n[any]\ncommonName=supplied\n[ext]\nsubjectAltName=DNS:bench.example\n"
        "[req]\ndistinguished_name=dn\n[dn]\n",
        encoding="utf-8",
    )
    for asked in (
        ["req", "-new", "-newkey", "ec", "-pkeyopt", "ec_paramgen_curve:prime256v1", "-nodes", 
         "-subj", "/CN=b",
         "-keyout", "b.key", "-out", "b.csr", "-config", "ca.cnf"],
        ["ca", "-config", "ca.cnf", "-selfsign", "-batch", "-notext", "-create_serial", "-in", "b.csr",
         "-keyfile", "b.key", "-out", "b.pem", 
         "-startdate", "20200101000000Z", "-enddate", "20200401000000Z"],
    ):  # fmt: skip
        subprocess.run([openssl_path, *asked], cwd=home, check=True, capture_output=True)
    return home / "b.pem", home / "b.key"


def found(pair: tuple[Path, Path], *names: str):
    return certificate_finding(PageSettings(certificate=pair[0], key=pair[1], names=names))


def test_a_good_one_is_told_with_its_names_and_its_end(make) -> None:
    finding = found(make("good", names="DNS:bench.example,IP:192.0.2.7"), "bench.example")
    ends = datetime.now(UTC) + timedelta(days=90)
    assert finding.fine
    assert finding.says == f"made out to bench.example, 192.0.2.7; good until {ends:%Y-%m-%d}"


def test_a_star_stands_for_one_part_of_a_name(make) -> None:
    pair = make("star", names="DNS:*.studio.example")
    assert found(pair, "bench.studio.example").fine
    assert not found(pair, "a.bench.studio.example").fine


@pytest.mark.parametrize(
    ("more", "names", "said"),
    [
        ({"days": "5"}, (), "renew it"),
        ({"names": "DNS:other.example"}, ("bench.example",), "not made out to bench.example"),
        ({"names": ""}, (), "names no computer"),
        ({"key": "pass:locked"}, (), "unlocked"),
    ],
)
def test_one_that_browsers_would_refuse_is_to_be_mended(make, more, names, said) -> None:
    name = f"bad {'-'.join(more)} {'-'.join(more.values()).replace(':', ' ')}"
    finding = found(make(name, **more), *names)
    assert not finding.fine and said in finding.says


def test_one_that_has_ended_is_refused_as_browsers_refuse_it(ended: tuple[Path, Path]) -> None:
    finding = found(ended)
    assert not finding.fine
    assert finding.says == "browsers refuse certificate b.pem: certificate has expired; renew it"


def test_a_key_of_another_certificate_or_a_missing_file_is_said(make, tmp_path: Path) -> None:
    (one, _), (_, other) = make("one"), make("other")
    for pair in ((one, other), (one, tmp_path / "none.key"), (tmp_path / "none.pem", other)):
        finding = found(pair)
        assert not finding.fine and "cannot be used" in finding.says


def test_the_check_of_the_settings_includes_it(
    make, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    pem, key = make("listed")
    page = f'port = 0\ncertificate = "{pem.as_posix()}"\nkey = "{key.as_posix()}"'
    (tmp_path / "tipbell.toml").write_text(f'[camera]\naddress = "0"\n[page]\n{page}\n', encoding="utf-8")
    check(tmp_path / "tipbell.toml", as_json=False)
    assert "fine  certificate          made out to bench.example" in capsys.readouterr().out
