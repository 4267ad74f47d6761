#!/bin/sh
# Makes what is secret: an authority, certificates and passwords, in a new folder of its own.
#   secrets.sh FOLDER [NAME ...]     NAME: one more that the certificate of the nodes is good for
# Keep ca.key apart from all the others: no container needs it.
set -eu
umask 077
folder=$1
shift
test ! -e "$folder" || { echo "$folder is there already: nothing is overwritten." >&2; exit 2; }
mkdir -p "$folder"
cd "$folder"

days=825
names="DNS:localhost,IP:127.0.0.1"
for name in postgres etcd1 etcd2 etcd3 postgres1 postgres2 postgres3 "$@"; do
    names="$names,DNS:$name"
done

key() { openssl genpkey -quiet -algorithm EC -pkeyopt ec_paramgen_curve:P-256 -out "$1" 2>/dev/null ||
    openssl genpkey -algorithm EC -pkeyopt ec_paramgen_curve:P-256 -out "$1"; }

key ca.key
openssl req -x509 -new -key ca.key -sha256 -days 3650 -subj "/CN=Stanchion database" -out ca.crt \
    -addext "basicConstraints=critical,CA:TRUE,pathlen:0" -addext "keyUsage=critical,keyCertSign,cRLSign"
printf 'subjectAltName=%s\nextendedKeyUsage=serverAuth,clientAuth\nbasicConstraints=CA:FALSE\n' \
    "$names" > node.ext
key node.key
openssl req -new -key node.key -subj "/CN=node" -out node.csr
openssl x509 -req -in node.csr -CA ca.crt -CAkey ca.key -CAcreateserial -sha256 -days "$days" \
    -extfile node.ext -out node.crt 2>/dev/null
rm -f node.csr node.ext ca.srl

for name in superuser replication rewind restapi owner reader; do
    openssl rand -hex 24 | tr -d '\n' > "$name"
done
address() {
    printf 'host=%s port=%s dbname=stanchion user=%s password=%s sslmode=verify-full sslrootcert=%s' \
        "${SERVICE_HOST:-postgres}" "${SERVICE_PORT:-5432}" "$1" "$(cat "$2")" \
        "${SERVICE_ROOT:-/run/secrets/ca.crt}"
}
address stanchion owner > address
address stanchion_read reader > address_read
