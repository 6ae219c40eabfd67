from django.apps import AppConfig


class SeamlabConfig(AppConfig):
    name = "seamlab"
    verbose_name = "Cloth, thread and proven seams"

    def ready(self) -> None:
        from seamlab import jobs  # noqa: F401 - registers menu entries and job kinds
