// Package hwmon reads what a board's own monitoring says of the board, by the files of the
// Linux hardware-monitoring interface (Documentation/hwmon/sysfs-interface.rst of the
// kernel, from memory): a folder for each monitor, with its name in a file and an alarm in
// another.
//
// One alarm is read: a supply voltage of the board that is critically low, as the monitor
// rpi_volt of some single-board computers tells it (in0_lcrit_alarm, 1 while it is so;
// Documentation/hwmon/raspberrypi-hwmon.rst, from memory). A board that browns out may
// hang half-awake. Nothing is judged where there is no such monitor, or it cannot be read.
package hwmon
