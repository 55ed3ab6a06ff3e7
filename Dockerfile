# Two stages: build wheels, then a slim image without a compiler; runs as a plain user, file system may be read-only.
# An image for use names its base by digest: docker build --build-arg PYTHON=python@sha256:... (docker buildx imagetools inspect
# python:3.13-slim tells it). Packages are those of the lock, each by its hash.
ARG PYTHON=python:3.13-slim

FROM ${PYTHON} AS build
WORKDIR /source
COPY service/deploy/requirements.txt service/deploy/requirements.txt
RUN pip wheel --no-cache-dir --require-hashes --wheel-dir /wheels -r service/deploy/requirements.txt
COPY pyproject.toml README.md ./
COPY fatcore fatcore
COPY service service
COPY openapi_examples openapi_examples
RUN pip wheel --no-cache-dir --no-deps --wheel-dir /wheels .

FROM ${PYTHON}
RUN --mount=type=bind,from=build,source=/wheels,target=/wheels \
    pip install --no-cache-dir --no-index --find-links=/wheels 'toeline[report,fast,metrics,tracing,units]' \
    && python -m toeline.deploy.sbom > /usr/local/share/toeline-sbom.json \
    && useradd --system --no-create-home --shell /usr/sbin/nologin toeline
USER toeline
ENV PYTHONUNBUFFERED=1 PYTHONDONTWRITEBYTECODE=1 MPLCONFIGDIR=/tmp/matplotlib NUMBA_CACHE_DIR=/tmp/numba
EXPOSE 8000
HEALTHCHECK --interval=30s --timeout=3s --start-period=20s CMD \
    ["python", "-c", "import urllib.request as r; r.urlopen('http://127.0.0.1:8000/health/live', timeout=2)"]
# starts with keys (TOELINE_KEYS_FILE), or with TOELINE_NO_KEYS=1 where something before it lets callers in
CMD ["toeline", "serve", "--host", "0.0.0.0", "--port", "8000", "--workers", "2"]
