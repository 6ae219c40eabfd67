from django.apps import AppConfig


class FittingConfig(AppConfig):
    name = "fitting"
    verbose_name = "Paper, fit and reports"

    def ready(self) -> None:
        from fitting import jobs  # noqa: F401 - registers job kinds, panels, menu entries and erasure
