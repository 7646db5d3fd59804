@echo off
rem Starts install.ps1 with a double click. Not yet run.
powershell -NoProfile -ExecutionPolicy Bypass -File "%~dp0install.ps1" %*
pause
