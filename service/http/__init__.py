"""The HTTP application: answers, problems, admission, pages, OpenAPI document."""
