"""Forms of bringing tables in and taking them out: they turn text into typed values and hold no rules."""

from django import forms

from seamlab.queries.transfer_tables import TABLES

ALL = "all"
FORMS = [("xlsx", "XLSX workbook"), ("csv", "CSV")]


class UploadForm(forms.Form):
    file = forms.FileField(
        label="XLSX workbook or CSV file",
        help_text="At most 20 MB. Formulas are not read.",
        widget=forms.ClearableFileInput(attrs={"accept": ".csv,.txt,.tsv,.xlsx"}),
    )
    table = forms.ChoiceField(
        choices=[("", "as its heads say"), *((table.code, table.title) for table in TABLES)],
        required=False,
        label="It holds",
        help_text="Say it where a single table could be two things.",
    )


class ExportForm(forms.Form):
    table = forms.ChoiceField(
        choices=[(ALL, "everything"), *((table.code, table.title) for table in TABLES)],
        initial=ALL,
        label="Take out",
    )
    form = forms.ChoiceField(
        choices=FORMS,
        initial="xlsx",
        label="As",
        widget=forms.RadioSelect,
        help_text="A CSV file holds one table; a workbook has a sheet for each.",
    )
