"""Photos and papers: whether each row has its bytes, and each of the bytes a row."""

from sqlalchemy import Connection

from benchapp.commands.checks.finding import Finding
from benchapp.records.attachments import sweeping
from benchapp.records.attachments.keeping import Keeper
from benchapp.records.database import Unavailable
from benchapp.words import n_, plural, t
from benchapp.words.numbers import number_text

SUBJECT = n_("photos and papers")


def attachments(connection: Connection, keeper: Keeper, now_ms: int) -> Finding:
    """Rows without bytes, bytes without rows, and what phones have not sent yet."""
    rows = sweeping.rows(connection)
    awaited = len(sweeping.named(connection, now_ms) - set(rows))
    place = keeper.store.place
    try:
        lying = {(each.workshop_id, each.sha256): each.size for each in keeper.store.lying()}
    except Unavailable as error:
        return Finding("bad", SUBJECT, f"{place}: {error}")
    lost = sum(lying.get(key) != size for key, size in rows.items())
    if lost:
        return Finding(
            "bad",
            SUBJECT,
            plural(
                lost,
                "{n} photo or paper that was kept is not whole in {place}. Put its file back, or a "
                "backup (benchapp restore --merge): phones that keep it do not send it again by "
                "themselves.",
                "{n} photos and papers that were kept are not whole in {place}. Put their files "
                "back, or a backup (benchapp restore --merge): phones that keep them do not send "
                "them again by themselves.",
                place=place,
            ),
        )
    spare = len(lying.keys() - rows.keys())
    if spare:
        return Finding(
            "look",
            SUBJECT,
            plural(
                spare,
                "{n} file in {place} has no row. A server that runs takes it in or lets go of it "
                "within two days.",
                "{n} files in {place} have no row. A server that runs takes them in or lets go of "
                "them within two days.",
                place=place,
            ),
        )
    megabytes = number_text(f"{sum(rows.values()) / 1_000_000:.1f}")
    counted = plural(
        len(rows),
        "{n} photo or paper ({megabytes} MB) is whole in {place}.",
        "{n} photos and papers ({megabytes} MB) are whole in {place}.",
        megabytes=megabytes,
        place=place,
    )
    if not awaited:
        return Finding("ok", SUBJECT, counted)
    more = plural(awaited, "{n} is still on a phone.", "{n} are still on phones.")
    return Finding("ok", SUBJECT, t("{counted} {more}", counted=counted, more=more))
