# One image for web, worker and scheduler.
FROM python:3.11-slim-bookworm

ENV PYTHONDONTWRITEBYTECODE=1 PYTHONUNBUFFERED=1 DJANGO_SETTINGS_MODULE=config.settings.production
WORKDIR /srv/stairhead/program
COPY requirements.txt .
RUN pip install --no-cache-dir --require-hashes -r requirements.txt \
    && useradd --system --home /srv/stairhead --shell /usr/sbin/nologin stairhead \
    && mkdir -p /srv/stairhead/data /srv/stairhead/static \
    && chown -R stairhead /srv/stairhead
COPY . .
USER stairhead
EXPOSE 8000
CMD ["gunicorn", "config.wsgi", "--bind", "0.0.0.0:8000", "--workers", "3", "--threads", "4", "--timeout", "60"]
