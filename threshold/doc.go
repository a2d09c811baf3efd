// Package threshold draws the conclusions from readings: it fits amplitude
// against speed, finds the window between the noise and the weakest tooth, and
// places or judges a table of arming thresholds in it.
//
// Propose makes a table, Check judges one, Compare tells what changed between
// two sets of readings. All three start from a Sensor, the model of one sensor
// that NewSensor fits to its readings.
//
// Every bound errs on the safe side: the weakest tooth is a lower bound, the
// noise ceiling an upper one, and margins are the least over a stretch of
// speeds.
package threshold
