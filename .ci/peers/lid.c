/*
 * A lid switch as two Modbus TCP discrete inputs, served by libmodbus: an
 * implementation of the protocol that shares no line with ours.
 *
 * It prints its port, then takes one word a line on standard input: two digits,
 * the channels (1 is closed). It ends at the end of input, or after LONGEST
 * seconds, so that no server outlives a gate that was killed.
 */
#include <arpa/inet.h>
#include <modbus.h>
#include <stdio.h>
#include <stdlib.h>
#include <sys/select.h>
#include <unistd.h>

enum { LONGEST = 300 };

static void die(const char *doing)
{
	perror(doing);
	exit(1);
}

static int port_of(int listener)
{
	struct sockaddr_in address;
	socklen_t length = sizeof address;
	if (getsockname(listener, (struct sockaddr *)&address, &length) == -1)
		die("getsockname");
	return ntohs(address.sin_port);
}

/* hear takes one line of standard input into the inputs; 0 is the end of input. */
static int hear(modbus_mapping_t *inputs)
{
	char word[16];
	if (fgets(word, sizeof word, stdin) == NULL)
		return 0;
	inputs->tab_input_bits[0] = word[0] == '1';
	inputs->tab_input_bits[1] = word[1] == '1';
	return 1;
}

/* answer serves one request of a client; 0 is a client that went. */
static int answer(modbus_t *server, int client, modbus_mapping_t *inputs)
{
	uint8_t query[MODBUS_TCP_MAX_ADU_LENGTH];
	modbus_set_socket(server, client);
	int length = modbus_receive(server, query);
	return length != -1 && modbus_reply(server, query, length, inputs) != -1;
}

int main(void)
{
	alarm(LONGEST);
	setvbuf(stdin, NULL, _IONBF, 0); /* select must see what was not read yet */
	modbus_t *server = modbus_new_tcp("127.0.0.1", 0);
	modbus_mapping_t *inputs = modbus_mapping_new(0, 2, 0, 0);
	if (server == NULL || inputs == NULL)
		die("set up libmodbus");
	int listener = modbus_tcp_listen(server, 4);
	if (listener == -1)
		die("listen");
	printf("%d\n", port_of(listener));
	fflush(stdout);

	fd_set open;
	FD_ZERO(&open);
	FD_SET(STDIN_FILENO, &open);
	FD_SET(listener, &open);
	for (int highest = listener;;) {
		fd_set ready = open;
		if (select(highest + 1, &ready, NULL, NULL, NULL) == -1)
			die("select");
		if (FD_ISSET(STDIN_FILENO, &ready) && !hear(inputs))
			return 0;
		for (int fd = STDIN_FILENO + 1; fd <= highest; fd++) {
			if (!FD_ISSET(fd, &ready))
				continue;
			if (fd != listener) {
				if (!answer(server, fd, inputs)) {
					close(fd);
					FD_CLR(fd, &open);
				}
				continue;
			}
			int client = modbus_tcp_accept(server, &listener);
			if (client == -1)
				die("accept");
			FD_SET(client, &open);
			highest = client > highest ? client : highest;
		}
	}
}
