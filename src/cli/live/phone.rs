//! The deck's page for phones: its flags, and the way in that the screen shows.

use crate::cli::shared::out;
use crate::error::Result;
use crate::phone::{Addresses, Desk, Server, code};
use crate::tui::{App, Away, WayIn};

#[derive(Debug, clap::Args)]
pub struct PhoneArgs {
    /// Serve a page with the deck's keys for phones on the local network; o shows its address and code
    #[arg(long)]
    pub phone: bool,
    /// The page's port [default: a free one]
    #[arg(long, requires = "phone", value_parser = clap::value_parser!(u16).range(1..))]
    pub port: Option<u16>,
    /// The page's address [default: this machine's on the local network]
    #[arg(long, requires = "phone", value_name = "ADDRESS")]
    pub phone_address: Option<String>,
}

impl PhoneArgs {
    /// Begins to serve, where it was asked for and there is a network.
    ///
    /// # Errors
    /// When the named address or port cannot be served.
    pub fn serve(&self) -> Result<Option<Server>> {
        if !self.phone {
            return Ok(None);
        }
        let address = Addresses::of_this_machine().choose(self.phone_address.as_deref())?;
        (address.map(|address| Server::start(address, self.port))).transpose()
    }

    /// Gives phones their way in, and says so: a line of its own where lines are told.
    ///
    /// # Errors
    /// When the line cannot be written.
    pub fn let_in(
        &self,
        server: Option<Server>,
        mut app: App,
        lines: bool,
    ) -> Result<(App, Option<Box<dyn Away>>)> {
        let Some(server) = server else {
            if self.phone {
                app.keep_out(NO_NETWORK);
            }
            return Ok((app, None));
        };
        let address = server.address();
        if lines {
            out::result(&format!("{address}\n"))?;
        }
        app.say_as(
            "phone",
            "A phone may come: o shows the address and the code.",
        );
        app.let_in(WayIn {
            code: code(&address)?,
            address,
        });
        let desk = Desk::new(server, app.rate_hz().into());
        Ok((app, Some(Box::new(desk))))
    }
}

/// One line of the screen: it stands there for a moment.
const NO_NETWORK: &str =
    "No local network for phones: join one, or name an address by --phone-address.";
