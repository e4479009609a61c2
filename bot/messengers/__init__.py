"""Telegram: what carries a message in and an answer out.

In: :mod:`polling` or :mod:`webhook` brings updates to :mod:`intake`, which reads them
(:mod:`updates`), asks who is served (:mod:`guests`, and behind it :mod:`bot.doorkeeper`), keeps
pictures (:mod:`pictures`, :mod:`album`), stores all that and only then lets Telegram know;
:mod:`presses` shows pressed buttons as taken. :mod:`shift` says which of several workers fetches.

Out: :class:`telegram.TelegramMessenger` sends what stands in the outbox (:mod:`sending`,
:mod:`formatting`); :mod:`refusals` says what Telegram's errors mean for a message.

Both: :mod:`wire` is the library's bot as it is set up here, :mod:`patience` waits for the network,
:mod:`redaction` keeps secrets out of logs, :func:`telegram.serve` ties all together.
"""
