# Puts Fourlimb @VERSION@ into the folders of this user, or takes it away again with -Uninstall.
# It needs no administrator, and never touches a file that is not Fourlimb's.
# Not yet run: it was written and read without a Windows at hand.
#Requires -Version 5.1
param([switch]$Uninstall)
$ErrorActionPreference = 'Stop'

$base = [Environment]::GetFolderPath('LocalApplicationData')
if (-not $base) { throw 'This user has no folder for local application data.' }
$parts = @(
    @{ Folder = Join-Path $base '@CLAP@'; Name = 'Fourlimb.clap' },
    @{ Folder = Join-Path $base '@VST3@'; Name = 'Fourlimb.vst3' },
    @{ Folder = Join-Path $base '@PROGRAM_FOLDER@'; Name = '@PROGRAM@' }
)

# Whether some file of it carries a mark of ours: every binary of Fourlimb holds it.
function Test-Ours([string]$Path) {
    # One letter a byte.
    $letters = [Text.Encoding]::GetEncoding(28591)
    foreach ($file in Get-ChildItem -LiteralPath $Path -Recurse -File -Force) {
        $text = $letters.GetString([IO.File]::ReadAllBytes($file.FullName))
        if ($text.Contains('@MARK@') -or $text.Contains('@PROGRAM_MARK@')) { return $true }
    }
    return $false
}

# Removes a folder and those above it as long as they are empty.
function Remove-Empty([string]$Folder) {
    while ($Folder -ne $base -and (Test-Path -LiteralPath $Folder) -and
        -not (Get-ChildItem -LiteralPath $Folder -Force)) {
        Remove-Item -LiteralPath $Folder
        $Folder = Split-Path -Parent $Folder
    }
}

# Moves an older one aside. A system with locks tells here whether a program still has it open.
function Move-Aside([string]$Path, [string]$To) {
    if (Test-Path -LiteralPath $To) { Remove-Item -LiteralPath $To -Recurse -Force }
    try { Move-Item -LiteralPath $Path -Destination $To }
    catch { throw "$Path is in use: close your recording program, then start this again." }
}

if ($Uninstall) {
    foreach ($part in $parts) {
        $path = Join-Path $part.Folder $part.Name
        if (-not (Test-Path -LiteralPath $path)) {
            Write-Output "$path is not there"
        } elseif (Test-Ours $path) {
            $aside = "$path.old"
            Move-Aside $path $aside
            Remove-Item -LiteralPath $aside -Recurse -Force
            Write-Output "Removed $path"
            Remove-Empty $part.Folder
        } else {
            Write-Output "Left $path alone: it is not Fourlimb's"
        }
    }
    Write-Output 'Your settings, note maps and projects stay where they are.'
    exit 0
}

# Everything is looked at before anything changes.
foreach ($part in $parts) {
    $from = Join-Path $PSScriptRoot $part.Name
    if (-not (Test-Path -LiteralPath $from)) {
        throw "$from is missing: unpack the whole archive, then start this again."
    }
    $path = Join-Path $part.Folder $part.Name
    if ((Test-Path -LiteralPath $path) -and -not (Test-Ours $path)) {
        throw "$path is there and is not Fourlimb's: move it away, then start this again. Nothing was changed."
    }
}
foreach ($part in $parts) {
    $path = Join-Path $part.Folder $part.Name
    New-Item -ItemType Directory -Force -Path $part.Folder | Out-Null
    $new = "$path.new"
    if (Test-Path -LiteralPath $new) { Remove-Item -LiteralPath $new -Recurse -Force }
    Copy-Item -LiteralPath (Join-Path $PSScriptRoot $part.Name) -Destination $new -Recurse
    # What comes from the network carries a mark. You started this script, so the mark goes from the copies.
    Get-ChildItem -LiteralPath $new -Recurse -File -Force | Unblock-File
    $aside = "$path.old"
    if (Test-Path -LiteralPath $path) { Move-Aside $path $aside }
    Move-Item -LiteralPath $new -Destination $path
    if (Test-Path -LiteralPath $aside) { Remove-Item -LiteralPath $aside -Recurse -Force }
    Write-Output "Installed $path"
}
Write-Output 'Next: turn your speakers down. Start your recording program, have it scan for plugins, and look for'
Write-Output "Fourlimb among the instruments. The guide: $(Join-Path $PSScriptRoot 'guide\guide.html')"
