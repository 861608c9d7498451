// What read_capture --crossings computes of a CSV file, with polars and a loop that V8 compiles.  usage: node peer_polars.mjs FILE
import polars from "nodejs-polars";

const table = polars.readCSV(process.argv[2]);
const [time, volts] = table.columns.map((name) => table.getColumn(name).toTypedArray());
const interval = (time[time.length - 1] - time[0]) / (time.length - 1);
let lowest = Infinity;
let highest = -Infinity;
for (let i = 0; i < volts.length; ++i) {
  if (Math.abs(time[i] - (time[0] + interval * i)) > 0.5 * interval) throw new Error("uneven times");
  if (volts[i] < lowest) lowest = volts[i];
  if (volts[i] > highest) highest = volts[i];
}
const middle = (lowest + highest) / 2;
let crossings = 0;
for (let i = 1; i < volts.length; ++i) crossings += volts[i - 1] < middle !== volts[i] < middle;
console.log(`${volts.length} samples of ${interval} s, ${lowest} to ${highest}, ${crossings} crossings of the middle`);
