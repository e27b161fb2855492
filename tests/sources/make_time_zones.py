"""Makes time_zones.json: offsets from UTC that Python's zoneinfo finds in the machine's zone files.

All instants are of the past: what governments announce for the future differs between releases of
the database.

    python3 make_time_zones.py > time_zones.json
"""
import datetime
import json
import subprocess
import sys
import zoneinfo

ZONES = ["Africa/Blantyre", "Africa/Casablanca", "Africa/Cairo", "Africa/Lagos", "America/Havana",
         "America/New_York", "America/St_Johns", "Asia/Gaza", "Asia/Kathmandu", "Asia/Tehran",
         "Australia/Lord_Howe", "Etc/GMT", "Etc/GMT+5", "Europe/Berlin", "Europe/Dublin",
         "Pacific/Apia", "Pacific/Chatham", "Pacific/Kiritimati"]
UTC = datetime.timezone.utc


def offset(zone, at):
    return int(at.astimezone(zone).utcoffset().total_seconds())


def changes(zone, first, last):
    """Every change of the offset between two instants, to the second."""
    at = first
    while at < last:
        later = min(at + datetime.timedelta(days=7), last)
        if offset(zone, at) != offset(zone, later):
            low, high = at, later
            while high - low > datetime.timedelta(seconds=1):
                middle = low + (high - low) / 2
                middle = middle.replace(microsecond=0)
                low, high = (middle, high) if offset(zone, middle) == offset(zone, at) else (low, middle)
            yield high
        at = later


rows = []
for name in ZONES:
    zone = zoneinfo.ZoneInfo(name)
    instants = {datetime.datetime(year, month, 15, 12, tzinfo=UTC)
                for year in (1975, 1990, 2000, 2010, 2025) for month in (1, 7)}
    for change in changes(zone, datetime.datetime(2020, 1, 1, tzinfo=UTC),
                          datetime.datetime(2025, 12, 1, tzinfo=UTC)):
        instants |= {change - datetime.timedelta(seconds=1), change}
    for at in sorted(instants):
        text = at.strftime("%Y-%m-%dT%H:%M:%SZ")
        rows.append({"name": f"{name} at {text}", "zone": name, "at": text, "offset_s": offset(zone, at)})

tzdata = subprocess.run(["dpkg-query", "-W", "-f=${Version}", "tzdata"], capture_output=True,
                        text=True, check=False).stdout
print('{"source": "Python %s zoneinfo over tzdata %s", "retrieved": "2026-11-26",\n'
      ' "licence": "tz database: public domain", "rows": [' % (sys.version.split()[0], tzdata))
print(",\n".join(json.dumps(row) for row in rows))
print("]}")
