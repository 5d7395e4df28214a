// What a service worker has beyond other workers, and what the server puts before the file.

declare const VERSION: string;
declare const PACKS: { bench: string; desk: string };

interface WorkerGlobalScopeEventMap {
  activate: ExtendableEvent;
  fetch: FetchEvent;
  install: ExtendableEvent;
  message: ExtendableMessageEvent;
  notificationclick: NotificationEvent;
  push: PushEvent;
  pushsubscriptionchange: ExtendableEvent;
  sync: ExtendableEvent & { readonly tag: string };
}

interface NotificationOptions {
  actions?: { action: string; title: string }[];
  renotify?: boolean;
}

interface WorkerGlobalScope {
  readonly clients: Clients;
  readonly registration: ServiceWorkerRegistration & { readonly sync?: { register(tag: string): Promise<void> } };
  skipWaiting(): Promise<void>;
}

// The app's own modules are checked with the page's types; here only what the worker uses of them.

declare module "*/words/dates.js" {
  export function localDate(at_ms: number): string;
}
declare module "*/words/door.js" {
  export function t(template: string, values?: Record<string, string | number>): string;
}
declare module "*/bench/due.js" {
  export function headlineOf(name: string, kind: string, on: string, now_ms: number): string;
}
declare module "*/formulas/cure.js" {
  export function ready(day: string, days: number): string;
}
declare module "*/records/exchange.js" {
  export function exchangeAll(): Promise<void>;
}
declare module "*/records/push.js" {
  export function resubscribe(registration: ServiceWorkerRegistration): Promise<void>;
}
declare module "*/records/store.js" {
  type NewEvent = import("../static/records/event_types.js").NewEvent;
  export function append(kind: string, id: string, event: NewEvent & { at?: number }): Promise<unknown>;
  export function timeNow(): Promise<number>;
}
