"""A real Prometheus scrapes the daemon while a load runs, and is asked what it saw.

The scrape job is the one of deploy/prometheus/scrape.yml, with its rules; only the
address and the pace differ. What is asked, and why:

* the volts were above nothing while the load ran, the film grew, the output was on,
  the bench said that it is simulated, the lid's two channels were closed;
* the totals by outcome count the load as complete, once, from a series that was
  there before as 0, so that an alert on its increase can fire;
* scrapes were taken (up), every rule of deploy/ was evaluated without error,
  and no alert that calls a person is firing over a load that was good.
"""

import http.client
import json
import pathlib
import re
import socket
import sys
import tempfile
import urllib.parse

from process import Failed, Process, require, until

PACE = "1s"


def free_port():
    with socket.socket() as one:
        one.bind(("127.0.0.1", 0))
        return one.getsockname()[1]


def ask(port, path, body=None):
    """The JSON answer of one of the two servers, None while it does not answer yet."""
    link = http.client.HTTPConnection("127.0.0.1", port, timeout=30)
    try:
        if body is None:
            link.request("GET", path)
        else:
            link.request("POST", path, json.dumps(body), {"Content-Type": "application/json"})
        answer = link.getresponse()
        text = answer.read()
    except OSError:
        return None
    finally:
        link.close()
    if answer.status >= 500:
        return None  # not ready yet
    require(answer.status < 400, path, "was refused:", answer.status, text)
    return json.loads(text) if text.startswith(b"{") else text


def configured(folder, deploy, daemon):
    """The example of deploy/, pointed at this daemon."""
    text = (deploy / "scrape.yml").read_text()
    for was, now in (("127.0.0.1:7070", f"127.0.0.1:{daemon}"), ("scrape_interval: 2s", f"scrape_interval: {PACE}"),
                     ("- anodized.rules.yml", f"- {deploy.resolve() / 'anodized.rules.yml'}")):
        require(was in text, "deploy/prometheus/scrape.yml no longer has", was)
        text = text.replace(was, now)
    path = folder / "prometheus.yml"
    path.write_text(f"global: {{evaluation_interval: {PACE}}}\n{text}")
    return path


class Seen:
    """What Prometheus answers to a query."""

    def __init__(self, port):
        self.port = port

    def samples(self, query):
        answer = ask(self.port, "/api/v1/query?" + urllib.parse.urlencode({"query": query}))
        if answer is None:
            return []
        require(answer["status"] == "success", query, answer)
        return answer["data"]["result"]

    def value(self, query):
        samples = self.samples(query)
        return float(samples[0]["value"][1]) if samples else None

    def waits(self, query, holds, what):
        def there():
            value = self.value(query)
            return value is not None and holds(value)

        until(there, 120, f"{what}: {query}")
        print(f"{what}: {query}", "=", self.value(query))


def load(daemon):
    plan = ask(daemon, "/api/plan", {})
    started = ask(daemon, "/api/runs", {"plan_id": plan["plan_id"], "operator": "Ida"})
    require(started["state"] == "checking", "the load was not started:", started)


def during(what):
    """The most of something while the load ramped: it may be over when one asks."""
    return f"max_over_time(({what} and on() (anodized_state{{state='ramping'}} == 1))[10m:{PACE}])"


def watched(seen, daemon):
    seen.waits("up{job='anodized'}", lambda v: v == 1, "the daemon is scraped")
    seen.waits("anodized_runs_total{outcome='complete'}", lambda v: v == 0, "no load yet, and the series is there")
    load(daemon)
    seen.waits(during("anodized_supply_volts"), lambda v: v > 0, "volts in the ramp")
    seen.waits(during("anodized_film_metres") + " * 1e9", lambda v: v > 20, "the film grows, nm")
    seen.waits(during("anodized_supply_output{state='on'}"), lambda v: v == 1, "the output")
    seen.waits(during("sum(anodized_interlock_closed)"), lambda v: v == 2, "both channels of the lid")
    seen.waits("anodized_simulated", lambda v: v == 1, "SIMULATED")
    seen.waits("anodized_runs_total{outcome='complete'}", lambda v: v == 1, "the load is counted")
    seen.waits("max_over_time(anodized_supply_volts[10m])", lambda v: 69 < v < 71, "the target was reached, V")
    seen.waits("increase(anodized_ticks_total[1m])", lambda v: v > 0, "the loop is alive")
    taken = seen.value("avg_over_time(up{job='anodized'}[10m])")
    require(taken > 0.8, "more scrapes failed than a machine that stalls explains:", 1 - taken)


def rules(port):
    groups = ask(port, "/api/v1/rules")["data"]["groups"]
    alerts = [rule for group in groups for rule in group["rules"]]
    require(len(alerts) >= 10, "the rules of deploy/ were not loaded:", alerts)
    for rule in alerts:
        require(rule["health"] == "ok", "the rule", rule["name"], "is", rule["health"], rule.get("lastError"))
        calls = rule["state"] == "firing" and rule["labels"].get("severity") == "page"
        require(not calls, "over a good load the alert fires:", rule["name"])
    print(len(alerts), "rules evaluated, none calls a person")


def main(anodized, prometheus, deploy):
    with tempfile.TemporaryDirectory(prefix="anodized-prometheus") as name:
        folder, port = pathlib.Path(name), free_port()
        with Process(anodized, "serve", "--json", "--listen", "127.0.0.1:0", "--speed", "8", "--journal", str(folder / "j.db")) as served:
            daemon = int(re.search(r":(\d+)$", json.loads(served.line())["url"])[1])
            with Process(prometheus, f"--config.file={configured(folder, pathlib.Path(deploy), daemon)}", f"--storage.tsdb.path={folder / 'data'}",
                         f"--web.listen-address=127.0.0.1:{port}", "--log.level=warn"):
                until(lambda: ask(port, "/-/ready") is not None, 60, "Prometheus is ready")
                watched(Seen(port), daemon)
                rules(port)
            require(served.end() == 0, "the daemon did not end with 0")
    print("a Prometheus saw the load as it was")


if __name__ == "__main__":
    try:
        main(*sys.argv[1:])
    except Failed as failed:
        sys.exit(f"prometheus: {failed}")
