@echo off
rem Sets up the worksheet functions for Excel on this computer, for people who never used Python:
rem double-click this file. It can be run again at any time, and after each update.
setlocal
cd /d "%~dp0.."
set "place=%USERPROFILE%\xlfuncs"
set "farm=%USERPROFILE%\Documents\farm.xlsm"

echo Looking for Python ...
set "python="
for %%v in (3.14 3.13 3.12 3.11) do call :try py -%%v
call :try python
if not defined python goto no_python

echo Making a place for the functions: %place%
%python% -m venv "%place%" || goto failed
echo Fetching what they need; this takes some minutes the first time ...
"%place%\Scripts\python.exe" -m pip install --quiet --disable-pip-version-check --upgrade . || goto failed

echo.
echo Looking whether Excel can use them:
set "faults="
"%place%\Scripts\xlfuncs.exe" doctor || set "faults=1"

echo.
if exist "%farm%" "%place%\Scripts\xlfuncs.exe" excel add "%farm%" || goto failed
if not exist "%farm%" "%place%\Scripts\xlfuncs.exe" new --excel "%farm%" || goto failed
echo.
if defined faults echo First do what stands above after "To mend it", then double-click this file again. Then:
echo Open %farm% in Excel, press Enable Content, and change the example to your beds.
echo For a workbook of your own, close it in Excel, then give in a Command Prompt:
echo     "%place%\Scripts\xlfuncs" excel add "your workbook.xlsx"
goto end

:no_python
echo Python 3.11 or later is not there. Get it from python.org (not from the Microsoft Store), install
echo it as it suggests, then double-click this file again.
goto failed_end

:failed
echo.
echo That did not work; the lines above say why. Nothing of Excel was changed.

:failed_end
if not defined XLFUNCS_NO_PAUSE pause
exit /b 1

:end
if not defined XLFUNCS_NO_PAUSE pause
exit /b 0

:try
if defined python exit /b 0
%* -c "import sys; sys.exit(sys.version_info < (3, 11))" >nul 2>nul
if errorlevel 1 exit /b 0
if not "%errorlevel%"=="0" exit /b 0
set "python=%*"
exit /b 0
