"""Long work: done once, told, stopped, and taken up again after a crash."""

import signal
import subprocess
import sys
from datetime import timedelta

import pytest

from sillway.errors import BadInput
from sillway.store import jobs
from sillway.store.by import By
from sillway.store.clock import now
from sillway.store.models import Job
from workbench_help import in_lot, lot_env

ANA = By("Ana", "page", 1)


@pytest.fixture
def named(monkeypatch):
    """Gives functions a name for one test."""
    monkeypatch.setattr(jobs, "_TASKS", {})
    return jobs.task


def test_work_is_done_and_its_answer_kept(db, named):
    named("add")(lambda job, a, b: {"sum": a + b})
    number = jobs.ask("add", ANA, a=2, b=3)
    assert jobs.run_next("one")
    assert not jobs.run_next("one")
    job = Job.objects.get(pk=number)
    assert (job.state, job.result, job.tries) == (Job.State.DONE, {"sum": 5}, 1)


def test_unknown_work_is_refused_at_once(db, named):
    with pytest.raises(BadInput, match="task"):
        jobs.ask("nothing", ANA)


def test_progress_is_told(db, named):
    def work(job):
        job.tell(1, 2, "half")
        seen.append(Job.objects.get(pk=job.number))

    seen: list[Job] = []
    named("half")(work)
    jobs.ask("half", ANA)
    jobs.run_next("one")
    assert (seen[0].done, seen[0].total, seen[0].says) == (1, 2, "half")


def test_a_waiting_job_is_cancelled_at_once(db, named):
    named("idle")(lambda job: {})
    number = jobs.ask("idle", ANA)
    jobs.ask_cancel(number, ANA)
    assert Job.objects.get(pk=number).state == Job.State.CANCELLED
    assert not jobs.run_next("one")


def test_a_running_job_stops_at_its_next_word(db, named):
    def work(job):
        jobs.ask_cancel(job.number, ANA)
        job.tell(1, 1, "")
        raise AssertionError("went on")

    named("stops")(work)
    number = jobs.ask("stops", ANA)
    jobs.run_next("one")
    assert Job.objects.get(pk=number).state == Job.State.CANCELLED


def test_a_fault_fails_the_job_and_tells_no_data(db, named, capsys):
    def work(job):
        raise ValueError("Quillfeather")

    named("faulty")(work)
    number = jobs.ask("faulty", ANA)
    jobs.run_next("one")
    job = Job.objects.get(pk=number)
    assert job.state == Job.State.FAILED
    assert "ValueError" in job.says
    assert "Quillfeather" not in job.says


def test_a_job_whose_runner_died_goes_on_from_what_it_kept(db, named):
    def work(job):
        begun.append(job.kept)
        if len(begun) == 1:
            job.tell(1, 2, "", keep={"next": 7})
            late = now() - timedelta(seconds=1)
            Job.objects.filter(pk=job.number).update(leased_until=late)
            jobs.run_next("two")
            job._told = 0.0
            job.tell(1, 2, "")
            raise AssertionError("two runners at one job")
        return {"by": "second"}

    begun: list[dict] = []
    named("long")(work)
    number = jobs.ask("long", ANA)
    jobs.run_next("one")
    job = Job.objects.get(pk=number)
    assert begun == [{}, {"next": 7}]
    assert (job.state, job.result, job.tries) == (Job.State.DONE, {"by": "second"}, 2)


def test_a_job_that_always_kills_its_runner_fails_in_the_end(db, named):
    named("deadly")(lambda job: {})
    number = jobs.ask("deadly", ANA)
    late = now() - timedelta(seconds=1)
    Job.objects.filter(pk=number).update(state=Job.State.RUNNING, tries=3, leased_until=late)
    assert not jobs.run_next("one")
    job = Job.objects.get(pk=number)
    assert (job.state, job.result) == (Job.State.FAILED, None)


def test_a_killed_worker_loses_no_job(tmp_path):
    """A real worker, killed in the middle; a second one ends the work."""
    in_lot(tmp_path, """
        from sillway.store.by import By
        from sillway.store.pack import Content
        from sillway.store.records import create_record
        from sillway.store import jobs
        import sillway.web.jobs.tasks
        ana = By("Ana", "page", 1)
        for number in range(60):
            create_record("inspection", Content({"number": str(number)}), ana)
        jobs.ask("store.look_over", ana)
    """)  # fmt: skip
    slow = """
import sys, time
from pathlib import Path
from sillway.store.opening import use_folder
use_folder(Path(sys.argv[1]))
import sillway.web.jobs.tasks as tasks
plain = tasks.chain_holds
def held(row):
    print(row.pk, flush=True)
    time.sleep(0.2)
    return plain(row)
tasks.chain_holds = held
from sillway.web.worker import main
sys.exit(main(["worker", "--data", sys.argv[1]]))
"""
    worker = subprocess.Popen([sys.executable, "-c", slow, str(tmp_path)], env=lot_env(tmp_path),
                              stdout=subprocess.PIPE, text=True)  # fmt: skip
    assert worker.stdout
    for _count in range(12):
        assert worker.stdout.readline().strip()
    worker.send_signal(signal.SIGKILL)
    worker.wait()
    worker.stdout.close()
    end = in_lot(tmp_path, """
        from datetime import timedelta
        from sillway.store.models import Job
        from sillway.store.clock import now
        job = Job.objects.get()
        print(job.state, job.done > 0)
        Job.objects.update(leased_until=now() - timedelta(seconds=1))
        from sillway.store.jobs import run_next
        import sillway.web.jobs.tasks
        run_next("second")
        job.refresh_from_db()
        print(job.state, job.result["records"], job.tries, job.kept["next"] > 0)
    """)  # fmt: skip
    assert end.split() == ["running", "True", "done", "60", "2", "True"]
