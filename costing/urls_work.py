"""Accepting a quote, jobs and the log, the spray room and the owner's desk."""

from django.urls import path

from costing.views import actual, board, desk_owner, jobs, log, queue, recall, records, spray_room, tickets

urlpatterns = [
    path("spray-room/", spray_room.spray_room, name="spray_room"),
    path("board/", board.job_board, name="board"),
    path("owners-desk/", desk_owner.desk_owner, name="desk_owner"),
    path("quotes/<int:pk>/accept/", jobs.quote_accept, name="quote_accept"),
    path("jobs/", jobs.jobs, name="jobs"),
    path("jobs/<int:pk>/", jobs.job, name="job"),
    path("jobs/<int:pk>/status/", jobs.job_status, name="job_status"),
    path("jobs/<int:pk>/lots/", recall.job_lots, name="job_lots"),
    path("jobs/<int:pk>/lots/pdf/", recall.job_lots_pdf, name="job_lots_pdf"),
    path("jobs/<int:pk>/lots/xlsx/", recall.job_lots_xlsx, name="job_lots_xlsx"),
    path("recall/", recall.recall, name="recall"),
    path("recall/pdf/", recall.recall_pdf, name="recall_pdf"),
    path("recall/xlsx/", recall.recall_xlsx, name="recall_xlsx"),
    path("spray-room-worker.js", queue.worker, name="spray_room_worker"),
    path("spray-room/queue/", queue.queue_hello, name="queue_hello"),
    path("steps/<int:pk>/ticket/", tickets.batch_ticket, name="ticket"),
    path("steps/<int:pk>/ticket.pdf", tickets.batch_ticket_pdf, name="ticket_pdf"),
    path("records/", records.records, name="records"),
    path("records/pdf/", records.records_file, {"ending": "pdf"}, name="records_pdf"),
    path("records/xlsx/", records.records_file, {"ending": "xlsx"}, name="records_xlsx"),
    path("jobs/<int:pk>/certificate/pdf/", records.certificate, {"ending": "pdf"}, name="certificate_pdf"),
    path("jobs/<int:pk>/certificate/xlsx/", records.certificate, {"ending": "xlsx"}, name="certificate_xlsx"),
    path("jobs/<int:pk>/cost/", actual.job_cost, name="job_cost"),
    path("steps/<int:pk>/defect/", actual.defect_new, name="defect_new"),
    path("defects/", actual.defects, name="defects"),
    path("batches/<int:pk>/", tickets.batch, name="batch"),
    path("logs/<int:pk>/take-back/", log.log_take_back, name="log_take_back"),
    path("steps/<int:pk>/log/", log.log_coat, name="log_coat"),
]
