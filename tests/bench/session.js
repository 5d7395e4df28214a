/** A bench session of invented streams: what is read when, and who hears of it. */
import { BenchSession, untilNextSecond } from "/bench/session.js";
import { announce } from "/records/changes.js";
import { StoreError } from "/records/store.js";

export { announce, StoreError, untilNextSecond };

/** A stream whose items are numbers that grow; reads wait until they are let go. */
export class Invented {
  constructor(kind, items = {}) {
    this.kind = kind;
    /** by id: what is kept now */
    this.kept = new Map(Object.entries(items));
    this.reads = [];
    this.waiting = [];
    this.held = false;
  }
  item(id) {
    const given = this.kept.get(id);
    if (given instanceof Error) throw given;
    return given === undefined ? null : { id, kind: this.kind, record: { kind: this.kind, started_at: 0 }, ...given };
  }
  read = async (id) => {
    this.reads.push(id);
    const item = this.item(id);
    if (this.held) await new Promise((resolve) => this.waiting.push(resolve));
    return item;
  };
  readBench = async () => [...this.kept.keys()].map((id) => this.item(id)).filter(({ away }) => !away);
  isOnBench = ({ away }) => !away;
  clocks = ({ id, rings }, now_ms) =>
    (rings ?? []).map((in_ms) => ({ key: id, at_ms: now_ms + in_ms, what: this.kind }));
  /** The last to begin ends first. */
  letGo() {
    this.held = false;
    for (const go of this.waiting.splice(0).reverse()) go();
  }
}

/** A session that has begun. */
export async function begun(...streams) {
  const session = new BenchSession(streams);
  await session.start(() => false);
  return session;
}

/** Every change that is told, as text. */
export function changesOf(session) {
  const told = [];
  session.onChange((changed) => told.push(...changed.map(({ kind, id, item }) => `${kind} ${id} ${item?.n ?? "-"}`)));
  return told;
}
