"""render: the pages of a workbook as PDF and as pictures, the way they print."""

import glob
import shutil
import subprocess
from pathlib import Path
from tempfile import TemporaryDirectory

import click

PDFTOPPM = "pdftoppm"
TIME_LIMIT = 300  # s
PROPOSAL = b"ReportLab"  # who wrote a proposal, which stands beside its workbook and stays


@click.command(name="render")
@click.argument("file", type=click.Path(exists=True, dir_okay=False, path_type=Path))
@click.option(
    "--output", type=click.Path(file_okay=False, path_type=Path), default=Path(),
    help="Folder for the PDF and the pictures; by default the current one.",
)  # fmt: skip
@click.option("--sheets", default="", help="Only these sheets, by name, parted by commas.")
@click.option("--pdf-only", is_flag=True, help="No pictures.")
@click.option("--dpi", type=click.IntRange(30, 600), default=100, show_default=True)
@click.option(
    "--tax-page",
    type=click.IntRange(1900, 2200),
    metavar="YEAR",
    help="Only the ledger's entries of a year, for the tax adviser: PDF and CSV.",
)
@click.option("--as-saved", is_flag=True, help="Show the saved values; compute nothing anew.")
def command(
    file: Path, output: Path, sheets: str, pdf_only: bool, dpi: int, tax_page: int | None,
    as_saved: bool,
) -> None:  # fmt: skip
    """Write the pages of the workbook FILE as one PDF and as one PNG a page, by LibreOffice.

    The workbook itself is not changed.
    """
    from xlfuncs.hosts.libreoffice.office import Office
    from xlfuncs.xlsx.saving import save

    output.mkdir(parents=True, exist_ok=True)
    if tax_page:
        _tax_page(file, output, tax_page)
        return
    name = file.stem
    if (there := output / f"{name}.pdf").exists() and PROPOSAL in there.read_bytes():
        name += "-pages"
    with TemporaryDirectory(prefix="xlfuncs-") as folder:
        pdf = Path(folder) / f"{name}.pdf"
        with Office() as office:
            wanted = [name.strip() for name in sheets.split(",") if name.strip()]
            office.to_pdf(file, pdf, recalculate=not as_saved, sheets=wanted)
        save(output / pdf.name, pdf.read_bytes())
        click.echo(f"Pages: {output / pdf.name}")
        if pdf_only:
            return
        made = pictures(pdf, dpi, output)
        for picture in made:
            save(output / picture.name, picture.read_bytes())
            click.echo(f"Picture: {output / picture.name}")
        for old in output.glob(f"{glob.escape(name)}-page-*.png"):
            if old.name not in {picture.name for picture in made}:
                old.unlink()


def _tax_page(file: Path, output: Path, year: int) -> None:
    from xlfuncs.hosts.libreoffice.office import Office
    from xlfuncs.workbooks.refused_lines import kept
    from xlfuncs.workbooks.tax_page import tax_page
    from xlfuncs.xlsx.contents import Contents
    from xlfuncs.xlsx.package import Package
    from xlfuncs.xlsx.saving import save

    page = tax_page(Contents(Package.open(file)), year, kept(file))
    target = output / f"{file.stem}-{year}"
    save(target.with_suffix(".csv"), page.as_csv())
    click.echo(f"Entries: {target.with_suffix('.csv')}")
    with TemporaryDirectory(prefix="xlfuncs-") as folder:
        printed, pdf = Path(folder) / "page.xlsx", Path(folder) / "page.pdf"
        printed.write_bytes(page.as_workbook())
        with Office() as office:
            office.to_pdf(printed, pdf, recalculate=False, sheets=[])
        save(target.with_suffix(".pdf"), pdf.read_bytes())
    click.echo(f"Page: {target.with_suffix('.pdf')}")


def pictures(pdf: Path, dpi: int, kept: Path) -> list[Path]:
    """One PNG a page beside the PDF, named by its page number; `kept` is where the PDF stays."""
    program = shutil.which(PDFTOPPM)
    if program is None:
        raise click.ClickException(
            f"the pages are in {kept / pdf.name}, but pictures need `{PDFTOPPM}` of the Poppler"
            " tools (on Debian and Ubuntu the package poppler-utils). --pdf-only leaves them out."
        )
    done = subprocess.run(
        [program, "-png", "-r", str(dpi), str(pdf), str(pdf.with_suffix("")) + "-page"],
        capture_output=True, text=True, timeout=TIME_LIMIT,
    )  # fmt: skip
    if done.returncode:
        raise click.ClickException(f"{PDFTOPPM} failed: {done.stderr.strip()}")
    return sorted(pdf.parent.glob(f"{glob.escape(pdf.stem)}-page-*.png"))
