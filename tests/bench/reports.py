"""Fit reports as the worker's child makes them, beside bare WeasyPrint on the same HTML with the same options.

The job runs in this process: claimed, prepared in scope, drawn and rendered, stored with its file. The floor renders
HTML that is there already, and keeps nothing.
"""

from typing import Any

from tests.bench.measured import Row, in_turns, ms, tell


def rows(shop: Any, *, rounds: int) -> list[Row]:
    import psutil
    from django.db import connection
    from weasyprint import HTML
    from weasyprint.text.fonts import FontConfiguration

    from fitting.reports.render import render_html
    from fitting.services.reports import ask_report
    from studio.platform.jobs import run_job
    from studio.reports.pdf import only_our_own

    house = shop.house
    with house.scope():
        garment = shop.signed_garment()
        asked = [ask_report(house.instructor, garment.pk) for _ in range(rounds + 1)]
        waiting = iter([report.job_id for report in asked])
        html = render_html(asked[0].snapshot)
        backend = connection.connection.info.backend_pid
    memory: list[float] = []
    here = psutil.Process()

    def work() -> None:
        if run_job(house.studio_id, next(waiting)) != "done":
            raise SystemExit("A report was not made.")
        memory.append(here.memory_info().rss / 2**20)

    def bare() -> None:
        document = HTML(string=html, url_fetcher=only_our_own(), base_url="about:blank")
        document.render(font_config=FontConfiguration(), pdf_variant="pdf/ua-1").write_pdf(
            pdf_variant="pdf/ua-1"
        )

    work()
    bare()
    tell(f"reports: {rounds} each")
    spent = in_turns(rounds, {"bare": bare, "work": work}, {"work": backend})
    ours, floor = spent["work"], spent["bare"]
    places = sorted({len(memory) * share // 4 for share in range(1, 5)} - {0})
    shown = ", ".join(f"{memory[place - 1]:.0f} MB after {place}" for place in places)
    return [
        Row(
            f"{rounds} fit reports as jobs; resident memory {shown}",
            f"median {ms(ours.median)}, processor {ms(ours.processor_mean)}",
            f"bare WeasyPrint: median {ms(floor.median)}, processor {ms(floor.processor_mean)}",
            f"rate {floor.median / ours.median:.2f}, processor {floor.processor_mean / ours.processor_mean:.2f}",
            "rate at least 0.9",
        )
    ]
