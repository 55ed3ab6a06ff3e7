"""Curves of the documents: catalogue, documents, listing."""
