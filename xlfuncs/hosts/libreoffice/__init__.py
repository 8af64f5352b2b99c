"""LibreOffice Calc as a host: the extension, its worker process, and Calc without a screen."""
