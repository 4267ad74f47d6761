"""What does a newcomer see: the real service at work on a scenario of its own?"""

import sys
from argparse import Namespace
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from service.commands import CANNOT, CHECK_FAILED, DONE, WRONG_USE


def run(args: Namespace) -> int:
    """Serve, post the scenario and show it; or hold the answers to the samples, or write them."""
    # loaded late: the command line answers --help without the web framework
    from service.demo.scenario import NoScenario

    try:
        with _stoppable():
            return _run(args)
    except NoScenario as error:
        print(error, file=sys.stderr)
        return WRONG_USE
    except KeyboardInterrupt:
        # Ctrl-C is how a demo ends; a check or a writing that was broken off did not succeed
        return CHECK_FAILED if args.once or args.write_samples else DONE


def _run(args: Namespace) -> int:
    from service.demo.check import check, write
    from service.demo.post import Refusal
    from service.demo.scenario import here, read
    from service.demo.served import NotServed, served
    from service.demo.show import show, wait
    from service.rules.reading import BadRuleBook

    folder = Path(args.write_samples) if args.write_samples else here()
    samples = read(folder)
    try:
        with served(args.port) as place:
            if args.write_samples:
                return write(place, samples)
            if args.once:
                return check(place, samples)
            show(place, samples)
            wait(place)
    except Refusal as error:
        print(error, file=sys.stderr)
        return CHECK_FAILED
    except (BadRuleBook, NotServed, OSError) as error:
        print(error, file=sys.stderr)
        return CANNOT
    return DONE


@contextmanager
def _stoppable() -> Iterator[None]:
    """Whatever asks the process to end lets it tidy up first, as Ctrl-C does."""
    import signal

    def stop(_number: int, _frame: object) -> None:
        raise KeyboardInterrupt

    for number in (signal.SIGINT, signal.SIGTERM, signal.SIGHUP):
        signal.signal(number, stop)
    yield
