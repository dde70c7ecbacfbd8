//! Where the page is served: this machine's address on the local network.

use std::net::{IpAddr, Ipv4Addr, UdpSocket};

use crate::error::{Error, Result};

/// An address that no machine has (RFC 5737, TEST-NET-1). Nothing is sent there.
const NOWHERE: (Ipv4Addr, u16) = (Ipv4Addr::new(192, 0, 2, 1), 9);

/// The machine's addresses, as they are.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Addresses {
    /// All of them.
    pub all: Vec<IpAddr>,
    /// The one from which it would speak to the rest of the world.
    pub usual: Option<IpAddr>,
}

impl Addresses {
    /// Asks the system. What it does not say is left out.
    pub fn of_this_machine() -> Self {
        let interfaces = if_addrs::get_if_addrs().unwrap_or_default();
        let all = interfaces.iter().filter(|one| one.is_oper_up());
        let socket = UdpSocket::bind((Ipv4Addr::UNSPECIFIED, 0));
        let usual = socket.and_then(|socket| {
            socket.connect(NOWHERE)?;
            socket.local_addr()
        });
        Self {
            all: all.map(|one| one.ip()).collect(),
            usual: usual.ok().map(|address| address.ip()),
        }
    }

    /// The address to serve at: the named one, else one of the local network; none where there is
    /// no such network.
    ///
    /// # Errors
    /// When the named address is none of this machine's.
    pub fn choose(&self, named: Option<&str>) -> Result<Option<IpAddr>> {
        if let Some(named) = named {
            return self.named(named).map(Some);
        }
        let is_usual = |address: &&IpAddr| Some(**address) == self.usual;
        let local = || self.all.iter().filter(|address| is_local(address));
        Ok(local().find(is_usual).or_else(|| local().next()).copied())
    }

    fn named(&self, named: &str) -> Result<IpAddr> {
        // As the system writes it: `fe80::1%eth0`.
        let without_zone = named.split_once('%').map_or(named, |(address, _)| address);
        let found = match named.parse::<IpAddr>() {
            _ if without_zone
                .parse()
                .is_ok_and(|address| needs_zone(&address)) =>
            {
                format!(
                    "{named} holds on one link alone, and no browser takes an address with its link"
                )
            }
            Err(_) => format!("{named:?} is no address"),
            Ok(address) if self.all.contains(&address) || address.is_loopback() => {
                return Ok(address);
            }
            Ok(address) => format!("{address} is not this machine's"),
        };
        let all: Vec<String> = (self.all.iter())
            .filter(|address| !needs_zone(address))
            .map(IpAddr::to_string)
            .collect();
        Err(Error::input(found)
            .at("--phone-address")
            .accepted(format!("an address of this machine: {}", all.join(", ")))
            .example("--phone-address 192.168.1.20"))
    }
}

/// Whether an address says where it is only with a zone beside it (RFC 4007, section 6). Browsers know no
/// zones (URL Standard, IPv6 addresses: "Support for <zone_id> is intentionally omitted").
fn needs_zone(address: &IpAddr) -> bool {
    matches!(address, IpAddr::V6(address) if address.is_unicast_link_local())
}

/// Whether an address is of a local network and no other: private (RFC 1918) or link-local
/// (RFC 3927).
fn is_local(address: &IpAddr) -> bool {
    match address {
        IpAddr::V4(address) => address.is_private() || address.is_link_local(),
        IpAddr::V6(_) => false,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn addresses(all: &[&str], usual: Option<&str>) -> Addresses {
        let read = |text: &str| text.parse().expect("an address");
        Addresses {
            all: all.iter().map(|text| read(text)).collect(),
            usual: usual.map(read),
        }
    }

    fn chosen(all: &[&str], usual: Option<&str>, named: Option<&str>) -> String {
        match addresses(all, usual).choose(named) {
            Ok(address) => address.map_or("none".into(), |address| address.to_string()),
            Err(error) => error.to_string(),
        }
    }

    #[test]
    fn the_local_network_is_served_and_no_other_unless_it_is_named() {
        let all = [
            "127.0.0.1",
            "172.17.0.1",
            "203.0.113.7",
            "192.168.43.20",
            "fe80::1",
        ];
        assert_eq!(chosen(&all, Some("192.168.43.20"), None), "192.168.43.20");
        assert_eq!(chosen(&all, Some("203.0.113.7"), None), "172.17.0.1");
        assert_eq!(chosen(&all, None, Some("203.0.113.7")), "203.0.113.7");
        assert_eq!(chosen(&all, None, Some("127.0.0.1")), "127.0.0.1");
        assert_eq!(chosen(&["169.254.3.4"], None, None), "169.254.3.4");
    }

    #[test]
    fn without_a_local_network_there_is_none() {
        assert_eq!(chosen(&["127.0.0.1", "::1"], None, None), "none");
        assert_eq!(chosen(&["203.0.113.7"], Some("203.0.113.7"), None), "none");
        assert_eq!(chosen(&[], None, None), "none");
    }

    #[test]
    fn an_address_of_another_machine_is_refused_with_those_that_there_are() {
        let all = ["127.0.0.1", "192.168.43.20"];
        for wrong in ["192.168.43.21", "0.0.0.0", "pool", "192.168.43.20:80", ""] {
            let said = chosen(&all, None, Some(wrong));
            assert!(
                said.contains("--phone-address") && said.contains("192.168.43.20"),
                "{said}"
            );
        }
    }

    #[test]
    fn an_address_that_no_browser_takes_is_refused_as_such() {
        let all = ["192.168.43.20", "fe80::1", "fd00::2"];
        for named in ["fe80::1", "fe80::1%eth0", "fe80::1%2", "febf::9"] {
            let said = chosen(&all, None, Some(named));
            assert!(said.contains("no browser takes"), "{said}");
            assert!(said.contains("192.168.43.20, fd00::2"), "{said}");
        }
        assert_eq!(chosen(&all, None, Some("fd00::2")), "fd00::2");
        let said = chosen(&all, None, Some("192.168.43.20%eth0"));
        assert!(said.contains("is no address"), "{said}");
    }

    #[test]
    fn this_machine_has_its_own_loopback() {
        let all = Addresses::of_this_machine().all;
        assert!(all.iter().any(IpAddr::is_loopback), "{all:?}");
    }
}
