#!/bin/sh
# Called by Patroni once, on the first primary, with the address of its superuser.
set -eu
exec psql --no-psqlrc --quiet --set ON_ERROR_STOP=1 --dbname "$1" --file "$(dirname "$0")/first.sql"
