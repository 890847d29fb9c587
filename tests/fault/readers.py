"""readers.py - sheet, export and audit while a build runs: each at one consistent size, the writer
undisturbed."""

import json
import sys
import threading

from bench import Bench, Gone, check, main


class Reader(threading.Thread):
    """Runs one command again and again, and keeps what it answered."""

    def __init__(self, bench, words, look):
        super().__init__()
        self.bench, self.words, self.look = bench, words, look
        self.over = threading.Event()
        self.sizes, self.failure = [], None

    def run(self):
        try:
            while not self.over.is_set():
                code, out, err = self.bench.program(*self.words)
                check(code == 0, "%s: %d %s" % (self.words, code, err))
                self.sizes.append(self.look(out))
        except BaseException as failure: # told by the main thread
            self.failure = failure


def size_of_export(out):
    """Whole lines, every entry from the first, and times that never go back."""
    lines = [json.loads(line) for line in out.splitlines()]
    check([line["number"] for line in lines] == list(range(1, len(lines) + 1)), "a gap")
    times = [line["entry"]["time"] for line in lines]
    check(times == sorted(times), "times")
    verdicts = [line for line in lines if line["entry"]["kind"] == "verdict"]
    check(all(lines[verdict["entry"]["of"] - 1]["entry"]["kind"] == "pull" for verdict in verdicts),
          "a verdict without its pull")
    return len(lines)


def size_of_audit(out):
    answer = json.loads(out)
    check(answer["findings"] == [], out)
    return answer["entries"]


def size_of_sheet(out):
    check(out.startswith("BUILD SHEET") and "Evidence" in out, "half a sheet: %r" % out[-200:])
    return out.count("\n")


def test_readers_beside_the_writer():
    with Bench() as bench:
        run = bench.run()
        prompt = run.prompt()
        readers = [Reader(bench, ["export", "--all"], size_of_export),
                   Reader(bench, ["audit", "--rejudge", "--json"], size_of_audit),
                   Reader(bench, ["sheet", bench.build], size_of_sheet)]
        for reader in readers:
            reader.start()
        try:
            while True:
                bench.do(run, prompt)
                prompt = run.prompt()
        except Gone:
            pass
        finally:
            for reader in readers:
                reader.over.set()
            for reader in readers:
                reader.join()
        for reader in readers:
            if reader.failure is not None:
                raise reader.failure
        check(run.end is not None and run.end["outcome"] == "complete", "%s" % run.end)
        entries, audits, sheets = (reader.sizes for reader in readers)
        for sizes in (entries, audits):
            check(sizes == sorted(sizes), "a size that went back: %s" % sizes)
            check(len(set(sizes)) >= 4, "nothing was written meanwhile: %s" % sizes)
        check(len(sheets) >= 4, "%d sheets" % len(sheets))
        check(bench.audit()["findings"] == [], "audit")
        print("     %d exports, %d audits, %d sheets; sizes %d to %d" % (
            len(entries), len(audits), len(sheets), entries[0], entries[-1]))


if __name__ == "__main__":
    sys.exit(main([test_readers_beside_the_writer]))
