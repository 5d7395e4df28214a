// What a service worker has beyond other workers, and what the server puts before the file.

declare const VERSION: string;
declare const FILES: [url: string, sha256: string][];

interface WorkerGlobalScopeEventMap {
  activate: ExtendableEvent;
  fetch: FetchEvent;
  install: ExtendableEvent;
  message: ExtendableMessageEvent;
  notificationclick: NotificationEvent;
  push: PushEvent;
}

interface WorkerGlobalScope {
  readonly clients: Clients;
  readonly registration: ServiceWorkerRegistration;
  skipWaiting(): Promise<void>;
}
