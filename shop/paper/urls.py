from django.urls import path

from shop.paper import choosing, phones, printers, printing, progress

app_name = "paper"
urlpatterns = [
    path("paper/", choosing.choose, name="choose"),
    path("paper/scanned/", choosing.scanned, name="scanned"),
    path("paper/look/", printing.look, name="look"),
    path("paper/preview/", printing.preview, name="preview"),
    path("paper/print/", printing.print_out, name="print"),
    path("paper/jobs/", progress.listed, name="jobs"),
    path("paper/jobs/<int:job_id>/", progress.job, name="job"),
    path("paper/jobs/<int:job_id>/print.pdf", progress.pdf, name="pdf"),
    path("paper/jobs/<int:job_id>/stop/", progress.stop, name="stop"),
    path("paper/jobs/<int:job_id>/go-on/", progress.go_on, name="go-on"),
    path("paper/phones.pdf", phones.phones, name="phones"),
    path("paper/printers/", printers.printers, name="printers"),
    path("paper/printers/<int:printer_id>/", printers.printer, name="printer"),
    path("paper/printers/<int:printer_id>/page/", printers.calibration, name="calibration"),
    path("paper/printers/<int:printer_id>/remove/", printers.remove, name="remove-printer"),
]
