// Lays out graphs with elkjs: `node lay.cjs GRAPHS.json RESULT.json`, a list of graphs in, a list of results out.
// A benchmark's yardstick only: nothing in wiregen uses it.
const fs = require("fs");
const ELK = require("elkjs/lib/elk.bundled.js");

async function main() {
  const graphs = JSON.parse(fs.readFileSync(process.argv[2], "utf8"));
  const elk = new ELK();
  const results = [];
  for (const graph of graphs) results.push(await elk.layout(graph));
  fs.writeFileSync(process.argv[3], JSON.stringify(results));
}

main();
