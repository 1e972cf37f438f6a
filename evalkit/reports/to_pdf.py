"""The report as PDF: the same page, laid out for paper."""

from __future__ import annotations

from evalkit.errors import MissingPartError


def to_pdf(page: str) -> bytes:
    """`page` (HTML) as a tagged PDF. Raises MissingPartError when WeasyPrint or its libraries are not installed."""
    try:
        from weasyprint import HTML
        from weasyprint.urls import URLFetcher
    except (ImportError, OSError) as error:
        raise MissingPartError(
            "PDF needs WeasyPrint and its system libraries (Pango).",
            mend="Install them: pip install 'evalkit[pdf]'; on Debian also apt install libpango-1.0-0 "
            f"libpangoft2-1.0-0 libharfbuzz-subset0. Or print the HTML report from a browser. ({error})",
        ) from None
    document = HTML(string=page, url_fetcher=URLFetcher(allowed_protocols={"data"}))
    pdf: bytes = document.write_pdf(pdf_variant="pdf/ua-1", optimize_images=True, dpi=150, jpeg_quality=75)
    return pdf
