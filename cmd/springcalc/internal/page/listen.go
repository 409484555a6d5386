package page

import "net"

// Listen listens at an address, or with "" on this machine alone, and returns the
// names by which the page may then be called and which of them to tell the person:
// where other devices reach it, one of theirs.
func Listen(at string) (l net.Listener, hosts []string, first string, err error) {
	local := at == ""
	if local {
		at = "127.0.0.1:0"
	}
	if l, err = net.Listen("tcp", at); err != nil {
		return nil, nil, "", err
	}
	host, _, _ := net.SplitHostPort(at) // it was listened at
	_, port, _ := net.SplitHostPort(l.Addr().String())
	hosts = []string{"127.0.0.1:" + port, "localhost:" + port, "[::1]:" + port}
	if local {
		return l, hosts, hosts[0], nil
	}
	others := []string{net.JoinHostPort(host, port)}
	if ip := net.ParseIP(host); host == "" || ip != nil && ip.IsUnspecified() {
		if others, err = ownNames(port); err != nil {
			l.Close()
			return nil, nil, "", err
		}
	}
	if hosts = append(hosts, others...); len(others) == 0 {
		return l, hosts, hosts[0], nil
	}
	return l, hosts, others[0], nil
}

// ownNames are the addresses of this machine that others reach.
func ownNames(port string) (names []string, err error) {
	addresses, err := net.InterfaceAddrs()
	for _, a := range addresses {
		if ip, _, err := net.ParseCIDR(a.String()); err == nil && !ip.IsLoopback() && !ip.IsLinkLocalUnicast() {
			names = append(names, net.JoinHostPort(ip.String(), port))
		}
	}
	return names, err
}
