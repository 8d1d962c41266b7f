#!/bin/bash
# radosgw.sh DIR   starts Ceph on one node with its S3 gateway on port 18480 of this machine, and makes the users of tried.ts.
#   apt-get install -y --no-install-recommends radosgw ceph-mon ceph-osd ceph-mgr ceph-common   (16.2.15 of Debian 12 tried, as root)
#   stop: kill $(cat DIR/pids)
set -eu
D=$(mkdir -p "$1" && cd "$1" && pwd); cd "$D"; mkdir -p mon osd mgr run
F=$(cat /proc/sys/kernel/random/uuid)
K=$D/keyring
cat > conf <<C
[global]
fsid = $F
mon host = v2:127.0.0.1:13300
mon initial members = a
keyring = $K
run dir = $D/run
log file = $D/\$name.log
admin socket = $D/run/\$name.asok
osd pool default size = 1
osd pool default min size = 1
osd crush chooseleaf type = 0
osd pool default pg num = 4
mon max pg per osd = 2000
bluestore block size = 4294967296
ms bind msgr1 = false
[mon.a]
mon data = $D/mon
[osd.0]
osd data = $D/osd
[mgr.x]
mgr data = $D/mgr
[client.rgw]
rgw frontends = beast endpoint=127.0.0.1:18480
C
ceph-authtool -C "$K" --gen-key -n mon. --cap mon 'allow *'
for name in client.admin client.rgw osd.0 mgr.x; do
  ceph-authtool "$K" --gen-key -n $name --cap mon 'allow *' --cap osd 'allow *' --cap mgr 'allow *'
done
monmaptool --create --addv a "[v2:127.0.0.1:13300]" --fsid "$F" monmap
ceph-mon -c "$D/conf" --mkfs -i a --monmap monmap --keyring "$K"
: > pids
# In the foreground of a job each, so that the process ids are known; with the whole path, as daemons leave this folder.
daemon() { "$@" -f > /dev/null 2>&1 & echo $! >> pids; }
daemon ceph-mon -c "$D/conf" -i a
sleep 5
ceph -c "$D/conf" auth import -i "$K"
U=$(cat /proc/sys/kernel/random/uuid)
ceph -c "$D/conf" osd create "$U" 0
ceph-osd -c "$D/conf" -i 0 --mkfs --osd-uuid "$U"
daemon ceph-osd -c "$D/conf" -i 0
daemon ceph-mgr -c "$D/conf" -i x
sleep 5
daemon radosgw -c "$D/conf" -n client.rgw
for user in boss R1 R2; do
  radosgw-admin -c "$D/conf" user create --uid $user --display-name $user --access-key "key-$user" --secret-key "secret-$user" > /dev/null
done
until curl -s -o /dev/null http://127.0.0.1:18480/; do sleep 1; done
