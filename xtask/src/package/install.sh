#!/bin/sh
# Puts Fourlimb @VERSION@ into the folders of this user, or takes it away again with --uninstall.
# It needs no administrator, and never touches a file that is not Fourlimb's.
set -eu

if [ -z "${HOME:-}" ]; then
    echo "This user has no home folder: set HOME, then start this again." >&2
    exit 1
fi
here=$(CDPATH='' cd -- "$(dirname -- "$0")" && pwd)
clap_folder="$HOME/@CLAP@"
vst3_folder="$HOME/@VST3@"
program_folder="$HOME/@PROGRAM_FOLDER@"
program="@PROGRAM@"

# Whether something is there, be it a link to nothing.
is_there() { [ -e "$1" ] || [ -L "$1" ]; }

# Whether some file of it carries a mark of ours: every binary of Fourlimb holds it.
is_ours() { LC_ALL=C grep -rqF -e '@MARK@' -e '@PROGRAM_MARK@' -- "$1" 2>/dev/null; }

# Removes a folder and those above it as long as they are empty.
remove_empty() {
    folder=$1
    while [ "$folder" != "$HOME" ] && rmdir -- "$folder" 2>/dev/null; do
        folder=$(dirname -- "$folder")
    done
}

# put FOLDER NAME: an older one is taken away only when the new one lies whole beside it.
put() {
    mkdir -p -- "$1"
    rm -rf -- "$1/.$2.new"
    cp -R -- "$here/$2" "$1/.$2.new"
    # What comes from the network carries a mark on macOS, which keeps programs from loading it. You started this
    # script, so the mark goes from the copies.
    if command -v xattr >/dev/null 2>&1; then
        xattr -dr com.apple.quarantine "$1/.$2.new" 2>/dev/null || true
    fi
    rm -rf -- "${1:?}/$2"
    mv -- "$1/.$2.new" "$1/$2"
    echo "Installed $1/$2"
}

# take_away FOLDER NAME
take_away() {
    rm -rf -- "$1/.$2.new"
    if ! is_there "$1/$2"; then
        echo "$1/$2 is not there"
    elif is_ours "$1/$2"; then
        rm -rf -- "${1:?}/$2"
        echo "Removed $1/$2"
        remove_empty "$1"
    else
        echo "Left $1/$2 alone: it is not Fourlimb's"
    fi
}

case "${1:-}" in
    "") ;;
    --uninstall)
        take_away "$clap_folder" Fourlimb.clap
        take_away "$vst3_folder" Fourlimb.vst3
        take_away "$program_folder" "$program"
        echo "Your settings, note maps and projects stay where they are."
        exit 0
        ;;
    *)
        echo "install: ${0##*/}    uninstall: ${0##*/} --uninstall"
        [ "$1" = --help ] && exit 0
        exit 2
        ;;
esac

# Everything is looked at before anything changes.
for name in Fourlimb.clap Fourlimb.vst3 "$program"; do
    if ! is_there "$here/$name"; then
        echo "$here/$name is missing: unpack the whole archive, then start this again." >&2
        exit 1
    fi
done
for path in "$clap_folder/Fourlimb.clap" "$vst3_folder/Fourlimb.vst3" "$program_folder/$program"; do
    if is_there "$path" && ! is_ours "$path"; then
        echo "$path is there and is not Fourlimb's: move it away, then start this again. Nothing was changed." >&2
        exit 1
    fi
done

put "$clap_folder" Fourlimb.clap
put "$vst3_folder" Fourlimb.vst3
put "$program_folder" "$program"
@PATH_NOTE@
echo "Next: turn your speakers down. Start your recording program, have it scan for plugins, and look for Fourlimb"
echo "among the instruments. The guide: $here/guide/guide.html"
