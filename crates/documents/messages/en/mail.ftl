# Messages by mail, and the page that shows what was sent.
