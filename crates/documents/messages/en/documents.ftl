# Texts of documents
