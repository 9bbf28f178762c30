# Texts of pages
