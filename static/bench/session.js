/**
 * The bench session: what is on the bench, its clocks, and the one timer that ticks them.
 *
 * What lies on the bench is read and folded here, once for each change; screens, strip, announcer and bells
 * listen. A stream is a kind of record whose events happen at the bench: it says how to read one of them and
 * which clocks run in it, and the session knows nothing else of it.
 */
import * as store from "../records/store.js";
import { goOn, now } from "./clock.js";
import { ofEach, passOver, pourStream } from "./pours.js";

/**
 * @typedef {object} Item what can be on the bench: a pour with its jugs, or whatever else has parts and clocks
 * @property {string} id
 * @property {import("../records/store.js").Plain} record
 * @property {{title: string}} sheet
 */
/**
 * @template {Item} [I=any]
 * @typedef {object} Clock one that runs in a part of an item
 * @property {I} item
 * @property {number} part its index
 * @property {number} at_ms when it rings
 * @property {string} what it rings for
 * @property {string} key another one whenever what it rings for is another
 */
/** @typedef {import("./pours.js").Pour} Pour */
/** @typedef {{kind: string, id: string}} Name of an item */
/** @typedef {Name & {item: Item | null}} Changed an item as it stands now, on the bench or not; null: deleted or unreadable */
/** @typedef {{now_ms: number, clocks: Clock[]}} Tick all clocks that run, the next to ring first */
/**
 * @template {Item} [I=any]
 * @typedef {object} Stream
 * @property {string} kind of its records
 * @property {(id: string) => Promise<I | null>} read one with its events, folded; null: not there
 * @property {() => Promise<I[]>} readBench all that are on the bench
 * @property {(item: I) => boolean} isOnBench
 * @property {(item: I, now_ms: number) => Clock<I>[]} clocks
 */

/** Between two ticks, where no clock runs (ms). */
const TICK_MS = 1000;

export class BenchSession {
  /** @type {Map<string, Stream>} */
  #streams;
  /** What is on the bench, by id. @type {Map<string, Item>} */
  #bench = new Map();
  /** What changed and is not read yet. @type {Map<string, Name>} */
  #unread = new Map();
  /** Reads go one after another, so that an older one never comes last. @type {Promise<unknown>} */
  #reading = Promise.resolve();
  /** The bench was read: nothing on it is known to be nothing. */
  #isRead = false;
  /** @type {Clock[]} */
  #clocks = [];
  /** @type {ReturnType<typeof setTimeout> | undefined} */
  #timer;
  /** @type {(clock: Clock) => boolean} */
  #isShown = () => false;
  /** @type {Signal<Changed[]>} */
  #changed = new Signal();
  /** @type {Signal<Tick>} */
  #ticked = new Signal();
  /** @type {Signal<Clock[]>} */
  #due = new Signal();

  /** @param {Stream[]} streams */
  constructor(streams) {
    this.#streams = new Map(streams.map((stream) => [stream.kind, stream]));
  }

  /**
   * Read what is on the bench, follow its changes from now on, and tick.
   * @param {(clock: Clock) => boolean} isShown whether a clock is the large one on the screen: the tick comes as
   *   it shows another second
   * @returns {Promise<void>} the bench is read
   * @throws {store.StoreError} nothing could be read
   */
  async start(isShown) {
    this.#isShown = isShown;
    store.onChange((changes) => {
      // A record's own change, or an event of its stream.
      const names = changes.filter(({ kind }) => this.#streams.has(kind));
      if (names.length > 0) this.#refresh(names);
    });
    this.tick();
    await this.#inTurn(async () => {
      const found = await Promise.all([...this.#streams.values()].map((stream) => stream.readBench()));
      for (const item of found.flat()) this.#bench.set(item.id, item);
      this.#isRead = true;
      this.tick();
    });
  }

  /**
   * Follow one more stream, once the session has begun.
   * @param {Stream} stream @returns {Promise<void>} what of it is on the bench is read
   */
  async join(stream) {
    this.#streams.set(stream.kind, stream);
    await this.#inTurn(async () => {
      const found = await stream.readBench();
      this.#take(found.map((item) => ({ kind: stream.kind, id: item.id, item })));
    });
  }

  /** What is on the bench, the one begun first comes first. @returns {Item[]} */
  items() {
    return [...this.#bench.values()].sort((a, b) => a.record.started_at - b.record.started_at);
  }

  /** The pours that are on the bench, in that order. @returns {Pour[]} */
  pours() {
    return /** @type {Pour[]} */ (this.items().filter(({ record }) => record.kind === "pour"));
  }

  /** One that is on the bench. @param {string} id @returns {any} an item of its kind; null: it is not there */
  item(id) {
    return this.#bench.get(id) ?? null;
  }

  /** Clocks as of the last tick, the next to ring first. */
  clocks() {
    return this.#clocks;
  }

  /**
   * Read one anew, on the bench or not: a screen opens it, or it was found to have changed unheard.
   * @param {string} kind @param {string} id @returns {Promise<any>} an item of the kind; null: not there
   * @throws {store.StoreError} nothing could be read
   */
  async read(kind, id) {
    return this.#inTurn(async () => {
      const item = (await this.#streams.get(kind)?.read(id)) ?? null;
      this.#take([{ kind, id, item }]);
      return item;
    });
  }

  /** All changes that were heard of are read. @returns {Promise<void>} */
  async settled() {
    await this.#reading;
  }

  /** Hear what changed, once it is read. @param {(changed: Changed[]) => void} listener
   * @returns {() => void} unsubscribe */
  onChange(listener) {
    return this.#changed.on(listener);
  }

  /** Hear each tick: once a second, and when what runs has changed. @param {(tick: Tick) => void} listener
   * @returns {() => void} unsubscribe */
  onTick(listener) {
    return this.#ticked.on(listener);
  }

  /** Hear at each tick which clocks are due, as long as one is; the first of them first.
   * @param {(due: Clock[]) => void} listener @returns {() => void} unsubscribe */
  onDue(listener) {
    return this.#due.on(listener);
  }

  /** Tick now: what is shown has changed, or the phone has slept. */
  tick() {
    if (this.#isRead) goOn(this.#bench.size > 0);
    const now_ms = now();
    const running = ofEach(this.items(), (item) => this.#streamOf(item)?.clocks(item, now_ms) ?? []);
    this.#clocks = running.sort((a, b) => a.at_ms - b.at_ms);
    clearTimeout(this.#timer);
    const first = this.#clocks.find(this.#isShown) ?? this.#clocks[0];
    this.#timer = setTimeout(() => this.tick(), untilNextSecond(first?.at_ms ?? now_ms, now_ms));
    this.#ticked.emit({ now_ms, clocks: this.#clocks });
    const due = this.#clocks.filter(({ at_ms }) => at_ms <= now_ms);
    if (due.length > 0) this.#due.emit(due);
  }

  /** Read these, with what else is not read by then: what changes a hundred times is not read a hundred times.
   * @param {Name[]} names */
  #refresh(names) {
    const waiting = this.#unread.size > 0;
    for (const { kind, id } of names) this.#unread.set(`${kind} ${id}`, { kind, id });
    if (waiting) return;
    void this.#inTurn(async () => {
      const unread = [...this.#unread.values()];
      this.#unread.clear();
      const read = await Promise.all(unread.map((name) => this.#readable(name)));
      this.#take(read.filter((each) => each !== null));
    });
  }

  /** One as it stands; null where the store fails, and what is known of it stays.
   * @param {Name} name @returns {Promise<Changed | null>} */
  async #readable({ kind, id }) {
    try {
      return { kind, id, item: (await this.#streams.get(kind)?.read(id)) ?? null };
    } catch (error) {
      if (error instanceof store.StoreError) return null;
      passOver(id, error);
      return { kind, id, item: null };
    }
  }

  /** @param {Changed[]} changed */
  #take(changed) {
    for (const { id, item } of changed) {
      if (item !== null && this.#streamOf(item)?.isOnBench(item)) this.#bench.set(id, item);
      else this.#bench.delete(id);
    }
    this.#changed.emit(changed);
    this.tick();
  }

  /** @param {Item} item */
  #streamOf(item) {
    return this.#streams.get(item.record.kind);
  }

  /** @template T @param {() => Promise<T>} work @returns {Promise<T>} */
  #inTurn(work) {
    const done = this.#reading.then(work);
    this.#reading = done.catch(() => undefined);
    return done;
  }
}

/** Who listens to one thing. @template T */
class Signal {
  /** @type {Set<(news: T) => void>} */
  #listeners = new Set();

  /** @param {(news: T) => void} listener @returns {() => void} unsubscribe */
  on(listener) {
    this.#listeners.add(listener);
    return () => this.#listeners.delete(listener);
  }

  /** Tell all; one that fails keeps nothing from the others. @param {T} news */
  emit(news) {
    for (const listener of this.#listeners) {
      try {
        listener(news);
      } catch (error) {
        reportError(error);
      }
    }
  }
}

/** How long until a clock shows another second: one tick a second is all that a countdown costs. In whole
 * milliseconds, as a timer would drop what is over, and come too soon. @param {number} at_ms when it rings @param {number} now_ms */
export function untilNextSecond(at_ms, now_ms) {
  const left_ms = (at_ms - now_ms) % TICK_MS;
  return Math.ceil(left_ms > 0 ? left_ms : left_ms + TICK_MS);
}

/** The session of this page. */
export const session = new BenchSession([pourStream]);
