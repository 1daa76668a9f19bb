from django.urls import path

app_name = "billing"
urlpatterns: list[path] = []
