"""Excel on Windows, by the BSD-licensed user functions of xlwings."""
