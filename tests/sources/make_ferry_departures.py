# Makes ferry_departures.json: the next sailing after a moment, by Python's zoneinfo, for random weekly
# timetables around the changes of clocks. Weeks in which a sailing falls into a missing hour are left
# out: zoneinfo and our Timetable read those differently, on purpose. All dates are of the past: what
# governments announce for the future differs between releases of the database.
#
#   python3 make_ferry_departures.py > ferry_departures.json

import json
import platform
import random
import subprocess
import sys
from datetime import datetime,timedelta,timezone
from zoneinfo import ZoneInfo
random.seed(7)
zones = ["Pacific/Fiji","Africa/Blantyre","Africa/Nairobi","America/Campo_Grande","Asia/Kathmandu","Europe/London","America/New_York","Australia/Lord_Howe","Africa/Casablanca","Pacific/Chatham"]
rows=[]
U=timezone.utc
centres=[datetime(2025,3,4,tzinfo=U),datetime(2025,3,9,7,tzinfo=U),datetime(2025,3,30,1,tzinfo=U),datetime(2025,10,26,1,tzinfo=U),datetime(2025,11,2,6,tzinfo=U),datetime(2025,4,5,15,tzinfo=U),datetime(2025,10,4,15,tzinfo=U),datetime(2025,2,23,2,tzinfo=U)]
while len(rows)<600:
    z=random.choice(zones)
    zi=ZoneInfo(z)
    mins=sorted(set(random.randrange(7*24*60) for _ in range(random.choice([1,2,5,20,60]))))
    at=random.choice(centres)+timedelta(seconds=random.randrange(-3*86400,3*86400))
    cand = []
    bad = False
    d0=(at-timedelta(days=10)).astimezone(zi).date()
    d0 -= timedelta(days=d0.weekday())
    for w in range(4):
        for m in mins:
            day=d0+timedelta(days=7*w+m//1440)
            l=datetime(day.year,day.month,day.day,(m%1440)//60,m%60,tzinfo=zi,fold=0)
            u=l.astimezone(U)
            if u.astimezone(zi).replace(tzinfo=None)!=l.replace(tzinfo=None):
                if abs((u-at).total_seconds())<8*86400: bad=True
                continue
            cand.append(u)
    if bad: continue
    nxt=min(u for u in cand if u>=at)
    f=lambda t:t.strftime('%Y-%m-%dT%H:%M:%SZ')
    rows.append({"name":f"{z} {len(rows)+1}","zone":z,"minutes_of_week":mins,"at":f(at),"next":f(nxt)})
version = subprocess.run(["dpkg-query", "-W", "-f", "${Version}", "tzdata"], capture_output=True, text=True).stdout
sys.stdout.write('{"source": "Python %s zoneinfo over tzdata %s, made by make_ferry_departures.py",\n "retrieved": "2026-11-26", "licence": "tz database: public domain", "rows": [\n' % (platform.python_version(), version))
sys.stdout.write(',\n'.join('  ' + json.dumps(row) for row in rows))
sys.stdout.write('\n]}\n')
