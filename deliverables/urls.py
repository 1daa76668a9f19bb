from django.urls import path

app_name = "deliverables"
urlpatterns: list[path] = []
