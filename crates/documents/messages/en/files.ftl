# Spreadsheet files: templates, uploads, exports.
