"""The service desk in the browser: take a note, mend its order, sign it. Needs the ``desk`` extra."""
