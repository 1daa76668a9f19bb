from django.urls import path

from billing.views import for_clients, invoices, ledger, quotes, rate_cards

app_name = "billing"
urlpatterns = [
    path("ledger/", ledger.ledger, name="ledger"),
    path("ledger/payments/new/", ledger.payment_new, name="payment-new"),
    path("quotes/", quotes.quotes, name="quotes"),
    path("quotes/<str:number>/", quotes.quote, name="quote"),
    path("quotes/<str:number>/accept/", quotes.quote_accept, name="quote-accept"),
    path("quotes/<str:number>/decline/", quotes.quote_decline, name="quote-decline"),
    path("quotes/<str:number>/withdraw/", quotes.quote_withdraw, name="quote-withdraw"),
    path("quotes/<str:number>/quote.pdf", quotes.quote_pdf, name="quote-pdf"),
    path("shoots/<str:number>/quote/", quotes.quote_offer, name="quote-offer"),
    path("shoots/<str:number>/invoice/", invoices.invoice_draw_up, name="invoice-draw-up"),
    path("invoices/", invoices.invoices, name="invoices"),
    path("invoices/<int:pk>/", invoices.invoice, name="invoice"),
    path("invoices/<int:pk>/lines/", invoices.invoice_line_add, name="invoice-line-add"),
    path("invoices/<int:pk>/lines/<int:line_pk>/remove/", invoices.invoice_line_remove, name="invoice-line-remove"),
    path("invoices/<int:pk>/issue/", invoices.invoice_issue, name="invoice-issue"),
    path("invoices/<int:pk>/void/", invoices.invoice_void, name="invoice-void"),
    path("invoices/<int:pk>/credit/", invoices.invoice_use_credit, name="invoice-use-credit"),
    path("invoices/<int:pk>/invoice.pdf", invoices.invoice_pdf, name="invoice-pdf"),
    path("true-ups/<int:pk>/accept/", invoices.true_up_accept, name="true-up-accept"),
    path("true-ups/<int:pk>/waive/", invoices.true_up_waive, name="true-up-waive"),
    path("rate-cards/", rate_cards.rate_cards, name="rate-cards"),
    path("rate-cards/<int:number>/", rate_cards.rate_card, name="rate-card"),
    path("settings/taxes/", rate_cards.tax_rates, name="tax-rates"),
    path("for-you/quotes/<int:pk>/", for_clients.client_quote, name="client-quote"),
    path("for-you/quotes/<int:pk>/accept/", for_clients.client_quote_accept, name="client-quote-accept"),
    path("for-you/quotes/<int:pk>/decline/", for_clients.client_quote_decline, name="client-quote-decline"),
    path("for-you/quotes/<int:pk>/quote.pdf", for_clients.client_quote_pdf, name="client-quote-pdf"),
    path("for-you/invoices/<int:pk>/", for_clients.client_invoice, name="client-invoice"),
    path("for-you/invoices/<int:pk>/invoice.pdf", for_clients.client_invoice_pdf, name="client-invoice-pdf"),
]
