"""A second screen: the one sitting's panels in browsers on the local machine or, with a code, on the network."""
