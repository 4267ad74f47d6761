#!/bin/sh
# Makes the passwords of the three roles, and the two addresses that the service is given.
#   secrets.sh FOLDER
# The folder is the caller's alone; the files in it can be read by the containers they are given to.
set -eu
folder=$1
test ! -e "$folder" || { echo "$folder is there already: nothing is overwritten." >&2; exit 2; }
umask 077
mkdir -p "$folder"
cd "$folder"
for name in superuser owner reader; do
    openssl rand -hex 24 | tr -d '\n' > "$name"
done
address() {
    printf 'host=postgres dbname=stanchion user=%s password=%s' "$1" "$(cat "$2")"
}
address stanchion owner > address
address stanchion_read reader > address_read
chmod 0444 superuser owner reader address address_read
