// A page that has nothing to show but its top.
import { data } from "./boot.js";
import { startAlarm } from "./alarm.js";
import { startSettings, topBench } from "./top.js";

startAlarm();
startSettings(() => {});
topBench(data("bench"));
