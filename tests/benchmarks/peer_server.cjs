// The general-purpose peer: PouchDB's own server, over its store on disk or in memory. Copied into
// the folder where the benchmark has installed its packages, and run there by Node.js.
// node peer_server.cjs FOLDER leveldb|memory
const http = require("node:http");
const path = require("node:path");
const express = require("express");
const PouchDB = require("pouchdb");

const [folder, backend] = process.argv.slice(2);
if (backend === "memory") PouchDB.plugin(require("pouchdb-adapter-memory"));
const Databases = PouchDB.defaults(backend === "memory" ? { adapter: "memory" } : { prefix: folder + path.sep });

const app = express();
app.get("/page/", (_request, response) =>
  response
    .type("html")
    .send(
      "<!doctype html><title>Peer</title><link rel=icon href=data:,>" +
        "<script src=pouchdb.min.js></script><script src=pouchdb.indexeddb.min.js></script>",
    ),
);
app.use("/page", express.static(path.join(path.dirname(require.resolve("pouchdb/package.json")), "dist")));
// Only what replication needs: the peer's quickest.
app.use(
  "/",
  require("express-pouchdb")(Databases, {
    mode: "minimumForPouchDB",
    inMemoryConfig: true,
    logPath: path.join(folder, "log"),
  }),
);
const server = http.createServer(app);
server.keepAliveTimeout = 60000;
server.listen(0, "127.0.0.1", () => console.log(`Peer ready at http://127.0.0.1:${server.address().port}/`));
